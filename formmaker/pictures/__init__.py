"""Pictures in three dimensions, made off screen."""

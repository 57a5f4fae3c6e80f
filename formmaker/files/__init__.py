"""Text files to frozen records and back."""

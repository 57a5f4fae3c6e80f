"""Everything that touches the solid kernel."""

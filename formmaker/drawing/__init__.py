"""Marks in millimetres, sheets, and the writers of drawings."""

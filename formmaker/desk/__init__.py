"""The desk: a local page to see a form in its wood, drag it, and decide. All geometry is asked of ``pipeline``."""

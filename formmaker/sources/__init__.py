"""Where a blank comes from: a scan, readings at the lathe, a described shape."""

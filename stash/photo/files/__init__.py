"""Photo files: bytes to upright sRGB pixels, and what else a file tells."""

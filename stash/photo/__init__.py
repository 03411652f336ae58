"""From the bytes of a photo to measured scraps."""

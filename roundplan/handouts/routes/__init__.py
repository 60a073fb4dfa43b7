"""A crew's way for devices that show no map of ours: GPX for navigation, a plain list for phones without maps."""

"""Print checks that need pixels. May use press."""

"""Codes and values put in words: one module a subject, through Django's translation. Nothing below makes a sentence."""

"""Codes and values of the floors below made into sentences, a module a subject."""

"""Pictures made from scanned sheets: joined from parts, or the ink alone."""

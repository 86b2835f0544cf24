"""What a picture file is and how it is opened: its kind, its pixels, its colour."""

"""Two versions compared: registered to each other, what differs, and where each note is now."""

"""Two versions compared: laid on each other, what differs, and where each note is now."""

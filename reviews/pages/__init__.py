"""What one page shows: the lowest floor that makes words, dates and addresses."""

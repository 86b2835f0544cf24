"""Books taken out and brought in whole, history included. Beside the demo, since only these two write the past."""

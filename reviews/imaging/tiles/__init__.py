"""What is shown of a picture: the preview, the thumb and the zoom tiles, cut from one decode."""

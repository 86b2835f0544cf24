"""When the book will be done: its own pace, and thousands of futures drawn from it."""

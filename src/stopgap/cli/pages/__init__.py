"""Commands that write a page or a picture."""

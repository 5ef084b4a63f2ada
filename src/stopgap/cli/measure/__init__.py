"""Commands that learn from what the user measured."""

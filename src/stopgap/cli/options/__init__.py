"""Options that several commands share, each written once."""

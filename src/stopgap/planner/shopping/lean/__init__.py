"""The programme of a shopping list, and what it can leave out and lose nothing."""

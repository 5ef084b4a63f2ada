"""How far a predicted layer may be from what the hand gets, and what that is reckoned from."""

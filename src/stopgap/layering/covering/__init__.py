"""How far a pencil covers what lies beneath it, and what not knowing that does to a colour."""

"""The rooms of the desk, a question each: its form, its answer, and what may be done there."""

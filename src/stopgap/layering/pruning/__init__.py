"""The search for recipes without trying all: what cannot be among the nearest is passed over."""

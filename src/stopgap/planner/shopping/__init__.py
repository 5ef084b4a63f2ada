"""The shopping list: the least purchase that meets every need that can be met, proved."""

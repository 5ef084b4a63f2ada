"""A box to take along: the few of one's pencils that lose least."""

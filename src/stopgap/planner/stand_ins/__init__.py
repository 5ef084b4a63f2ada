"""Which pencils come nearest to a colour, how they are off, and how sure that is."""

"""The reflectance that lies behind a colour: the plainest, others as near, and what is likely."""

"""Commands that put pencils in order: families, blends, gaps."""

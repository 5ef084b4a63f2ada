"""What layered swatches of the user's own teach of paper, pressures and pencils."""

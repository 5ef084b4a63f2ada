"""Commands that answer about one colour: stand-ins, layers, the demonstration."""

"""Commands about many colours at once: lists translated, tables, shopping."""

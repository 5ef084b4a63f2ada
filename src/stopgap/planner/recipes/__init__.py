"""Everything that can be laid with some pencils: worked out once, kept, and asked."""

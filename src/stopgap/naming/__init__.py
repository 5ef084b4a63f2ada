"""What a colour is called by an open standard, and when a label misleads."""

from stopgap.naming.basic_terms import BASIC_TERMS, TermLimits, misleading_term

__all__ = ["BASIC_TERMS", "TermLimits", "misleading_term"]

"""Pictures worked out from the prescription: the same figures, drawn and in words."""

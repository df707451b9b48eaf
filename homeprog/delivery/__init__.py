"""Ways out of the house: push now; mail and webhooks later."""

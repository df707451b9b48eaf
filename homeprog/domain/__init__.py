"""Pure rules of the trade: no framework, no database, no clock reading."""

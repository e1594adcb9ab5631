"""The catalogue of tests: its entries, families and the choice among them."""

"""The demo clinic: invented people, played by the product's own services with a moving clock."""

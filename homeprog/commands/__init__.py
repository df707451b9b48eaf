"""What `flask --app app` offers, by thing."""

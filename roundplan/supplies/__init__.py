"""What a plan uses up, carries and orders."""

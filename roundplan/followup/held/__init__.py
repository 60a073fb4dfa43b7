"""What was held: attendance forms taken into the record, what holds of them, and what is removed in the end."""

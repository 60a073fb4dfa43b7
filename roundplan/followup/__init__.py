"""What became of a plan: the record of its versions, the replies, how seats and cover stand, its history."""

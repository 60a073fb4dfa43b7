"""A large round planned in pieces: people for the skeleton's trips, then a few tours at a time planned anew."""

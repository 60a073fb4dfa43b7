"""What a training round is made of; standard library only."""

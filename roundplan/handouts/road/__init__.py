"""What travels along: a trainer's and a crew's pages."""

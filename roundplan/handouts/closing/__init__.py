"""What a round came to: the final report, which names nobody, and the list of what is still to be done."""

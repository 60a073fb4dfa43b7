"""One round many times: under changed settings, without a crew, with another table, under stress, with other seeds."""

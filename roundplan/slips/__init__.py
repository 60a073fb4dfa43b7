"""What a slip is, for those who write it and those who read it back: layout, reply codes, numbering, reading."""

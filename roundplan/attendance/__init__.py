"""The grammar of attendance forms: what stands where in them, and how they are read back."""

"""The least change of an announced plan that is lawful under new facts: what is hurt, a frame round it, a bound."""

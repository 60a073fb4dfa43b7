"""The store's documents: pick list, loads, orders, walls to assemble, labels."""

"""The skeleton of a large round: which crew is where, and how many teams each facility sends to which session.

Crews' trips are columns of a linear programme, found by pricing; what facilities can release bounds the demand.
"""

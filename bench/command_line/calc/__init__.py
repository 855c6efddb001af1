"""`spinledger calc SUBJECT`: the computations of the trade, one JSON object in and one out."""

"""Studies of one module against the wall: how far, how tall, at what price."""

"""Tables shipped with the program. Every row says where it was read."""

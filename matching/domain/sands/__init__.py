"""Sand: how fine, how even, within whose limits, and whether it makes a wall."""

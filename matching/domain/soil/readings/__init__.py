"""What each kind of evidence says, and how far it misleads."""

"""What becomes of a plan once trucks drive: what arrived, what goes wrong, plans anew."""

"""What a truck may weigh by its axles: rule sets, payload, and what was compared."""

"""What to do: which size and which device; why a device opened; what would be if."""

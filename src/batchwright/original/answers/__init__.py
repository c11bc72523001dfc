"""What a decode says: shares and ratios, one formula to mix, what to measure next, what contradicts."""

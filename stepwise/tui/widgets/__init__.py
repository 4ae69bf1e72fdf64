"""What the screens are made of: each shows finished values and says what it was told."""

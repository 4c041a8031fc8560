"""What is a hit: contact, confidence, striker, receiver, reaction; never what a trim of it is worth."""

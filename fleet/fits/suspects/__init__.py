"""What batch or design is made of: how far groups depart from one life, and where failures lie."""

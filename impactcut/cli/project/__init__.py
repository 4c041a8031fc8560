"""Commands about the project as a whole, the demo, and the manual."""

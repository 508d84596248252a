"""What opens outside a shoot: make one, open one, or look around in the demo."""

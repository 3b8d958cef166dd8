"""What a film costs and how long it takes: sequences to pictures, to days, to money."""

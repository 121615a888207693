"""What fits of failures with a set of suspects are made of. METHODS: masked-causes."""

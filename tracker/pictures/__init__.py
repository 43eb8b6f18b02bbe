"""Reading pictures with Pillow under limits: cartoons (one pixel a knot) and photos. Import only when needed."""

"""Server-side drawings: frozen dataclasses in, SVG out, the same on the page and in the PDF."""

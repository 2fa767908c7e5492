"""TLS for a workshop without a proxy: an authority of its own, one certificate, a page to fetch it from."""

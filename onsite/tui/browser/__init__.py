"""The screens in a browser, for a tablet at the door: a web server, and the page that it serves."""

"""What is written about a picture, in the picture or beside it: XMP packets and sidecars."""

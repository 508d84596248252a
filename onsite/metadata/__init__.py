"""Metadata: writes XMP packets, IIM and sidecars, and strips pictures of their metadata.

Begin with `xmp_fields` (what is written), `xmp_packet`, `xmp_sidecar`, and `strip_metadata`.
"""

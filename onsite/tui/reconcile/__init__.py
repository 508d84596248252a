"""The wrap: frames without a settled name."""

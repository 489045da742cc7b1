"""From tape-measure readings to rooms."""

"""Named rules that judge samples and intervals. They set flags; no value is altered, bridged or deleted."""

"""What all figures share: style, panels, scales, labels, strips."""

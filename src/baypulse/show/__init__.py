"""What all studies share to show what they found: pages, numbers, texts, report folders."""

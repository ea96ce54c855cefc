"""What the commands of all studies share: options, files in, reports out."""

"""A case over one or two of its inputs."""

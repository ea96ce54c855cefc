"""The live page: a case under the hands, served to a browser on this machine alone."""

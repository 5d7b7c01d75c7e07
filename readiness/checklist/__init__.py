"""The YAML files: what they may hold, how they are read, how their mistakes are told."""

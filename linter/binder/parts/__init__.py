"""The parts of a binder, one file each; `contents` knows their order."""

"""The single-line diagram: Graphviz places, we route and paint."""

"""The worksheet of one element: every figure of the study that concerns it, step by step."""

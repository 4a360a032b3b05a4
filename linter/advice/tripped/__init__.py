"""Why a device has opened: what it should see, likely causes in order, what to measure, whether a larger one."""

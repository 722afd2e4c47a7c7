"""What the log tells once there is enough of it: success, waits as they were, charts."""

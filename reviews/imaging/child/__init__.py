"""The child that opens foreign bytes: a sandbox the kernel holds, its fork server, and the tasks it takes."""

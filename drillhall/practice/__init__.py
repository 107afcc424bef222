"""What people do with pairs: drilling and reviewing; loads rows, calls core, changes rows, never commits."""

"""The pushrod: its length, its order, its setting, what stands on the shelf."""

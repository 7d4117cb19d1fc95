"""The reporting room: findings as text, pages, pictures and files that other programs read."""

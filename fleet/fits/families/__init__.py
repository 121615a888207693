"""Other distributions on the same likelihood, and lives drawn under the watch as it was."""

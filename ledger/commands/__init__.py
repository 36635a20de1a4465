"""The commands, a file for each subject; each is imported when it is called for."""

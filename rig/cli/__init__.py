"""The command line. Data go to standard output, words to standard error."""

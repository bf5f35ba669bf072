static int words() { return 1; }

static int face() { return 1; }

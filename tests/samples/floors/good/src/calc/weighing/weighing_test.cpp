#include <cstdio>

#include "calc/weighing/weighing.h"
#include "helper.h"
static void show() { std::printf("a test may print\n"); }

#include <cstdio>

#include "calc/weighing/weighing.h"
#include "plan/plan.h"
static void show() { std::printf("a face may print\n"); }

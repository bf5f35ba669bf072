#include <cmath>

#include "calc/weighing/weighing.h"

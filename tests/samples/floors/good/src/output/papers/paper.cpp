#include "output/drawings/drawing.h"

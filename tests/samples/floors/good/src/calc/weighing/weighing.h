#pragma once
#include "maths/sum.h"

#pragma once
#include <iostream>

#include "calc/hoisting/hoisting.h"
#include "plan/plan.h"

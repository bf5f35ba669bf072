#pragma once
#include "calc/weighing/weighing.h"

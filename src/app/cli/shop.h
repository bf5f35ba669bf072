#pragma once
// `fettle shop`: hours a week of machines and people, summed over plans.
#include <string>

#include "study/shop_load.h"

namespace fettle::cli {

/// The whole shop as a page of text.
std::string shop_text(const study::ShopLoad& load);

}  // namespace fettle::cli

#pragma once
inline void stop() { std::abort(); }
inline void tell() { printf("a science never prints"); }

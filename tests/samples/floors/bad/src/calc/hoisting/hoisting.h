#pragma once
inline void stop() { std::abort(); }
inline const char* folder() { return std::getenv("TMPDIR"); }
inline void tell() { printf("a science never prints"); }

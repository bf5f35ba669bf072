#include "app/serve/serve.h"

#include <arpa/inet.h>
#include <fmt/format.h>
#include <ifaddrs.h>
#include <netinet/in.h>

#include <algorithm>
#include <csignal>
#include <filesystem>
#include <iostream>
#include <thread>

#include "app/serve/network.h"
#include "base/memory.h"

namespace fettle::serve {

namespace {

int cannot(const std::string& what) {
  std::cerr << "fettle: " << what << "\n";
  return 2;
}

std::vector<std::string> addresses() {
  std::vector<std::string> out;
  ifaddrs* all = nullptr;
  if (::getifaddrs(&all) != 0) return out;
  for (const ifaddrs* a = all; a != nullptr; a = a->ifa_next) {
    if (a->ifa_addr == nullptr || a->ifa_addr->sa_family != AF_INET) continue;
    char text[INET_ADDRSTRLEN] = {};
    ::inet_ntop(AF_INET, &reinterpret_cast<const sockaddr_in*>(a->ifa_addr)->sin_addr, text, sizeof text);
    if (std::string(text) != "127.0.0.1") out.emplace_back(text);
  }
  ::freeifaddrs(all);
  return out;
}

void greet(const Gate& gate, const Page& page, const std::string& folder, int port, bool secret) {
  const char* const how = secret ? "https" : "http";
  std::cout << fmt::format("Fettle serves {}\n  {}://127.0.0.1:{}/\n", folder, how, port);
  if (gate.lan()) {
    for (const std::string& a : addresses()) std::cout << fmt::format("  {}://{}:{}/\n", how, a, port);
    std::cout << fmt::format("Code for reading and for entries at the machine: {}\nCode for everything: {}\n",
                             gate.reading_code(), gate.writing_code());
    if (!secret) std::cout << "The network carries everything in the clear: use it only in a network of your own.\n";
  }
  if (!page.there())
    std::cout << "The page is not inside this build: give --page FOLDER (web/dist); the JSON routes work without it.\n";
  std::cout << "Stop with Ctrl-C." << std::endl;
}

}  // namespace

int serve_command(const ServeArguments& a) {
  namespace fs = std::filesystem;
  std::error_code error;
  const bool plan = fs::is_regular_file(a.what, error);
  if (!plan && !fs::is_directory(a.what, error)) return cannot(a.what + ": no plan and no folder to serve");
  const fs::path parent = fs::path(a.what).parent_path();
  const std::string folder = !plan ? a.what : parent.empty() ? "." : parent.string();
  std::signal(SIGPIPE, SIG_IGN);
  base::keep_memory();
  const int threads = static_cast<int>(std::clamp(std::thread::hardware_concurrency(), 1U, 16U));
  Desk desk(folder, threads);
  Gate gate(a.lan, a.read_only);
  const Page page = a.page.empty() ? Page::inside() : Page::from_folder(a.page);
  if (!a.page.empty() && !page.there()) return cannot(a.page + ": no index.html of a built page there");
  std::shared_ptr<SSL_CTX> secret;
  if (!a.certificate.empty() || !a.key.empty()) {
    if (a.certificate.empty()) return cannot("--tls-key belongs to --tls: the certificate is missing");
    auto made = secret_of(a.certificate, a.key);
    if (!made.ok()) return cannot(say(made.problem()));
    secret = std::move(made.value());
    gate.is_secret();
  }
  Network network({desk, gate, page, plan ? fs::path(a.what).filename().string() : std::string(), secret});
  const int port = network.bind(a.lan ? "0.0.0.0" : "127.0.0.1", a.port);
  if (port == 0) return cannot(fmt::format("port {} cannot be had: another number with --port, or 0 for any", a.port));
  gate.listens_on(port);
  greet(gate, page, desk.folder().root(), port, secret != nullptr);
  return network.listen() ? 0 : 3;
}

}  // namespace fettle::serve

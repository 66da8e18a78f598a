// Files for tests of the trace reader.
#pragma once

#include <doctest/doctest.h>
#include <zlib.h>

#include <fstream>
#include <string>

#include "support/temporary_folder.h"

namespace ebbwatch::test {

struct Files : TemporaryFolder {
  std::string plain(const std::string& content, const std::string& name = "trace.csv") const {
    const std::string file = path() + "/" + name;
    std::ofstream(file, std::ios::binary) << content;
    return file;
  }
  std::string gzip(const std::string& content, const std::string& name = "trace.csv.gz") const {
    const std::string file = path() + "/" + name;
    gzFile out = gzopen(file.c_str(), "wb1");
    REQUIRE(gzwrite(out, content.data(), static_cast<unsigned>(content.size())) ==
            static_cast<int>(content.size()));
    REQUIRE(gzclose(out) == Z_OK);
    return file;
  }
  /// An error text without the folder.
  std::string without_path(std::string text) const {
    const std::string prefix = path() + "/";
    const auto at = text.find(prefix);
    return at == text.npos ? text : text.erase(at, prefix.size());
  }
};

inline const std::string trace_header = "time_s,watcher,kind,subject,ok,seq,uptime_s,power\n";

}  // namespace ebbwatch::test

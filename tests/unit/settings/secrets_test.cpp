#include "settings/secrets.h"

#include <doctest/doctest.h>
#include <sys/stat.h>

#include <cstdlib>
#include <fstream>

#include "support/temporary_folder.h"

using namespace ebbwatch;

namespace {

struct Folder : test::TemporaryFolder {
  void write(const std::string& name, const std::string& content, mode_t mode) const {
    std::ofstream(path() + "/" + name) << content;
    REQUIRE(chmod((path() + "/" + name).c_str(), mode) == 0);
  }
};

SecretSource file(const std::string& name) {
  return {SecretSource::Kind::file, name};
}

}  // namespace

TEST_CASE("secret: a file is looked for beside the configuration, one line end is taken off") {
  const Folder folder;
  folder.write("mail.secret", "open sesame\n", 0600);
  folder.write("two.secret", "a\n\n", 0640);
  const std::string configuration = folder.path() + "/ebbwatch.yaml";
  CHECK(read_secret(file("mail.secret"), configuration).value() == "open sesame");
  CHECK(read_secret(file(folder.path() + "/two.secret"), "elsewhere.yaml").value() == "a\n");
}

TEST_CASE("secret: a file that everybody can read is refused with the remedy") {
  const Folder folder;
  folder.write("mail.secret", "open sesame\n", 0644);
  const auto read = read_secret(file("mail.secret"), folder.path() + "/ebbwatch.yaml");
  REQUIRE_FALSE(read.ok());
  CHECK(read.error().code == Errc::refused);
  CHECK(read.error().text.find("chmod o-rwx " + folder.path() + "/mail.secret") !=
        std::string::npos);
  CHECK(read.error().text.find("sesame") == std::string::npos);
}

TEST_CASE("secret: a missing, empty or oversized file is an error that names it") {
  const Folder folder;
  folder.write("empty", "\n", 0600);
  folder.write("huge", std::string(70'000, 'x'), 0600);
  const std::string configuration = folder.path() + "/ebbwatch.yaml";
  const auto missing = read_secret(file("gone"), configuration);
  REQUIRE_FALSE(missing.ok());
  CHECK(missing.error().code == Errc::not_found);
  CHECK(missing.error().text ==
        "The secret in file " + folder.path() + "/gone cannot be read: No such file or directory.");
  CHECK(read_secret(file("empty"), configuration).error().text ==
        "The secret in file " + folder.path() + "/empty is empty.");
  CHECK_FALSE(read_secret(file("huge"), configuration).ok());
  CHECK_FALSE(read_secret(file("."), configuration).ok());
}

TEST_CASE("secret: from an environment variable") {
  setenv("EBBWATCH_TEST_SECRET", "from outside", 1);
  const SecretSource source{SecretSource::Kind::environment, "EBBWATCH_TEST_SECRET"};
  CHECK(read_secret(source, "x.yaml").value() == "from outside");
  unsetenv("EBBWATCH_TEST_SECRET");
  CHECK(read_secret(source, "x.yaml").error().text ==
        "The environment variable EBBWATCH_TEST_SECRET is not set.");
}

TEST_CASE("secret: from a credential of the service manager") {
  const Folder folder;
  folder.write("mail", "from systemd", 0400);
  const SecretSource source{SecretSource::Kind::credential, "mail"};
  unsetenv("CREDENTIALS_DIRECTORY");
  CHECK(read_secret(source, "x.yaml").error().code == Errc::not_found);
  setenv("CREDENTIALS_DIRECTORY", folder.path().c_str(), 1);
  CHECK(read_secret(source, "x.yaml").value() == "from systemd");
  CHECK_FALSE(read_secret({SecretSource::Kind::credential, "../mail"}, "x.yaml").ok());
  unsetenv("CREDENTIALS_DIRECTORY");
}

TEST_CASE("secret: none given is an error") {
  CHECK(read_secret({}, "x.yaml").error().code == Errc::not_found);
}

// The name look-up of this executable, in place of the system's, with three names of its own:
// slow.invalid takes three seconds, as with a name server that does not answer; nobody.invalid does
// not exist; mail.example.net is this machine under a name that does not say so.
#pragma once

namespace ebbwatch::test {

int slow_lookups_begun();
int slow_lookups_ended();

}  // namespace ebbwatch::test

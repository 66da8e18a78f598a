// Who a person is to the settings, and at which sites they may act. Pure.
#pragma once

#include <string>
#include <vector>

#include "settings/settings.h"

namespace ebbwatch {

/// The identifier of the keyholder with this identifier or name, in any case of letters; empty when
/// there is none.
std::string keyholder_called(const Settings& settings, const std::string& by);
/// The name of a keyholder; of other texts themselves.
std::string person_name(const Settings& settings, const std::string& keyholder);
/// Identifiers of the sites whose call list tells this keyholder, in the order of the file.
std::vector<std::string> sites_of_keyholder(const Settings& settings, const std::string& keyholder);
/// Identifiers of the sites that a subject is, lies in or holds, in the order of the file.
std::vector<std::string> sites_of_subject(const Settings& settings, const std::string& scope,
                                          const std::string& id);

/// The name that people know; the identifier where the settings do not have the subject any more.
std::string name_of_subject(const Settings& settings, const std::string& scope,
                            const std::string& id);

}  // namespace ebbwatch

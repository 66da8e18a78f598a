#include "ingest/problem.h"

#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

namespace ebbwatch {

HttpResponse problem(int status, const std::string& detail) {
  boost::json::object body;
  body["type"] = "about:blank";
  body["title"] = status_phrase(status);
  body["status"] = status;
  body["detail"] = detail;
  HttpResponse out;
  out.status = status;
  out.content_type = "application/problem+json";
  out.body = boost::json::serialize(body) + "\n";
  return out;
}

}  // namespace ebbwatch

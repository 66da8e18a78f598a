// Quality of service of a failure detector, and settings from wishes.
//
// Chen, Toueg, Aguilera, "On the Quality of Service of Failure Detectors", IEEE Trans. Computers
// 51(5), May 2002: NFD-S forward, and the configuration procedures for a known delay law (section
// 4) and for known moments (section 5; with a mean of 0 also NFD-U and NFD-E, section 6). All times
// in seconds. Not for the deciding path: allocates nothing, but integrates.
//
// These figures hold for independent loss only. Home links lose check-ins in bursts; never promise
// the years that come out.
#pragma once

#include <functional>
#include <optional>

namespace ebbwatch::qos {

/// Chance that a message that is not lost takes longer than so many seconds; 1 for negative ones.
using DelayTail = std::function<double(double)>;
DelayTail exponential(double mean_s);

struct Detector {
  double interval_s = 0;  ///< eta; > 0
  double shift_s = 0;     ///< delta; >= 0
};

struct Channel {
  double loss = 0;  ///< p_L, 0..1
  DelayTail tail;
  double delay_scale_s = 0;  ///< A typical delay; only places the integration's cuts. > 0
};

struct Quality {
  int slots = 0;                  ///< k = ceil(delta / eta)
  double suspect_at_start = 0;    ///< u(0)
  double in_time = 0;             ///< q_0
  double detection_s = 0;         ///< T_D at most
  double between_mistakes_s = 0;  ///< E(T_MR); infinite when there are none
  double mistake_s = 0;           ///< E(T_M)
  double accuracy = 0;            ///< P_A
};
Quality quality(Detector detector, const Channel& channel);

/// What somebody wishes.
struct Wish {
  double detection_s = 0;         ///< T_D^U
  double between_mistakes_s = 0;  ///< T_MR^L
  double mistake_s = 0;           ///< T_M^U
};

struct Configured {
  double interval_max_s = 0;  ///< eta_max
  Detector detector;
};
/// Largest interval that keeps the wish, the delay law being known. Empty: it cannot be had.
std::optional<Configured> configure(const Wish& wish, const Channel& channel);
/// The same from the loss and the delay's mean and variance alone.
std::optional<Configured> configure(const Wish& wish, double loss, double mean_s,
                                    double variance_s2);

/// E(T_MR) of "so many missed in a row": interval / ((1 - p) * p^missed).
double between_mistakes_s(double interval_s, double loss, int missed);

/// Worst case over every delay law with this mean and variance.
struct Bounds {
  double beta = 0;
  double gamma = 0;
  double between_mistakes_s = 0;  ///< At least.
  double mistake_s = 0;           ///< At most.
};
Bounds bounds(Detector detector, double loss, double mean_s, double variance_s2);

/// Chance of `count` or more independent losses in a window in which `expected` are expected.
double chance_of_at_least(int count, double expected);

}  // namespace ebbwatch::qos

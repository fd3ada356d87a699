#pragma once
// Mesh, line count and angle: whether a screen can hold its dots, and the bands (moire) in which mesh,
// screens and knit beat with each other.
#include "screen/screen.h"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace kirtle {

/// Threads of the mesh to one line of the halftone. Common practice, no source: 3.5 to 5; under 3.5 the mesh
/// eats dots by its own pattern.
double threads_per_line(const Mesh& mesh, double lpi);
constexpr double kFewestThreadsPerLine = 3.5;

/// The smallest round dot that the stencil on this mesh holds, as coverage 0..1 at that line count:
/// smallest_dot (deposit.h) as an area of the cell.
double smallest_tint_held(const Mesh& mesh, const HalftoneScreen& halftone);

/// One screen as it hangs. Angles: mesh threads run at 0 and 90 degrees, as the frame does; the dots' angle
/// is against the same.
struct ScreenOnPress {
  std::string name;  ///< of the plate
  Mesh mesh;
  HalftoneScreen halftone;
  bool lays_agent = false;  ///< its ink discharges: a finer mesh lays less agent, and less dye goes
};

/// The knit under the print: loops a length, wales across and courses down.
struct Knit {
  double wales_per_cm = 0, courses_per_cm = 0;
};

enum class BeatKind { mesh_and_screen, two_screens, knit_and_screen };

/// One beat between two gratings: the difference of a multiple of each one's frequency vector.
struct Beat {
  BeatKind kind = BeatKind::mesh_and_screen;
  std::string first, second;  ///< names of plates; "knit" second for the cloth
  int k = 0, l = 0;           ///< orders of the mesh, the knit or the first screen, along its two directions
  int m = 0, n = 0;           ///< orders of the (second) screen along and across its lines
  Mm period{0};               ///< width of one band; infinite if both repeat together
  double direction_deg = 0;   ///< of the beat vector, -90..90, 0 = bands stand upright
  int rank = 1;               ///< 1 strongest: max(|k|, |l|) + max(|m|, |n|) - 1; bands weaken as orders rise
  bool skew = false;          ///< neither along the dots' rows nor their diagonals
  bool warn = false;          ///< see BeatLimits
};

/// A beat is warned of when one band is wider than this; both are placeholders, no source. A skew order is
/// weak and one or another always lies near: it counts only if it comes very near.
struct BeatLimits {
  Mm rows{1};  ///< 25 per inch
  Mm skew{3};
};

/// Every beat with a band wider than 0.5 mm, worst first: warned before not warned, then by band width over
/// rank.
///   screens  as they hang
///   knit     nothing = not looked at
/// Orders: mesh and knit 1 and 2, along each direction; dots 1 to 4 along rows, diagonals and between; the
/// knit against dots to order 2; two screens to order 1 with diagonals. Line dots have one direction. Two
/// screens of the same frequency vector do not beat (they shift their joint coverage instead). Source: the
/// difference of frequency vectors, closed form; Amidror 2009, The Theory of the Moire Phenomenon,
/// doi:10.1007/978-1-84882-181-1 (from memory). Limits: tells where bands can be, not how strong they print;
/// stretch of mesh and cloth moves them.
/// Throws std::domain_error, naming the screen, unless lpi > 0, threads > 0 and finite.
std::vector<Beat> find_beats(std::span<const ScreenOnPress> screens, const std::optional<Knit>& knit,
                             const BeatLimits& limits = {});

/// What to say about one screen.
struct MeshVerdict {
  std::string name;
  double threads_per_line = 0;
  bool too_few_threads = false;
  double smallest_tint = 0;         ///< coverage 0..1
  std::optional<Beat> worst;        ///< its worst beat with the mesh, if any is warned of
  std::vector<std::string> advice;  ///< in shop words, tried out; empty if nothing is wrong
};

/// Verdict on each screen (dots of noise have no lines: endless threads a line, no beat, smallest_tint 0),
/// with advice that clears what it warns of: a coarser or finer mesh out of `meshes`, an angle
/// among 22.5, 7.5, 15, 30, 37.5 degrees, or fewer lines. No finer mesh for a screen that lays agent.
std::vector<MeshVerdict> judge_meshes(std::span<const ScreenOnPress> screens, std::span<const Mesh> meshes,
                                      const BeatLimits& limits = {});

/// "bands 4.1 mm wide between mesh and dots of plate "red"", for notes.
std::string sentence_of(const Beat& beat);

}  // namespace kirtle

#pragma once
// Everything that the pages say about one print of an order: predicted once for each shirt colour, then only
// numbers and pixels.
#include "base/progress.h"
#include "light/colour.h"
#include "light/srgb.h"
#include "predict/shirt_run.h"
#include "proof/cloth_picture.h"
#include "proof/print_fit.h"

#include <optional>
#include <string>
#include <vector>

namespace kirtle {

/// An ink where it prints as solid as it does, on one shirt, over what lies under it there.
struct InkOnShirt {
  Lab lab;                  ///< under the scene's light
  Rgb8 codes{};             ///< as the page shows it
  double outside_de00 = 0;  ///< how far the page's colour is from the ink's: 0 = the page can show it
  double ink_build_um = 0;  ///< of the whole pile
};

struct InkStudy {
  std::string plate, ink;  ///< names
  std::string customer;    ///< as the customer calls it; the ink's name if the scene does not say
  std::string over;        ///< plates that lie under it where it prints most: "base"; may be empty
  double printed = 1;      ///< share covered where the swatch is taken: 1 = solid
  bool discharges = false, not_predicted = false;
  std::vector<double> levels;  ///< printed coverage of every plate of the model at the swatch
  std::vector<InkOnShirt> on;  ///< one for each shirt of the study
};

struct ShirtStudy {
  std::string id, name, fibre_text;
  Lab bare;
  std::array<float, 3> linear{};  ///< bare, linear sRGB
  Lab discharged;                 ///< under a solid of clear discharge ink, D50
  int discharge_grade = 0;        ///< 0 = not graded
  int ordered = 0;                ///< shirts of this colour
  std::string style;
  PrintPixels print;  ///< all of the ink, coarse, for garments
};

struct PassStudy {
  double area_mm2 = 0;       ///< covered on one shirt, tints at their share
  double grams_a_shirt = 0;  ///< wet
  Um wet{0};
};

/// A place to watch: where shirt or base opens first.
struct WatchPlace {
  double x_mm = 0,
         y_mm = 0;  ///< from the middle of the print and from its top: where an operator measures from
  std::string plate_a, plate_b, shows;
  double allowed_mm = 0;  ///< overlap: the two may part by so much before it opens
};

struct StudySettings {
  bool pictures = true;  ///< close-up and garments (a proof); false for the ticket's small one alone
  bool watch = false;    ///< places to watch (the ticket)
  bool share = false;    ///< the share of shirts that show, on request
  std::optional<double> width_mm;  ///< of the ink, in place of the order's (second set)
  std::optional<std::string> light;
  std::vector<std::filesystem::path> data;
  unsigned threads = 0;
};

struct PrintStudy {
  OrderPrint print;
  Scene scene;                         ///< on the first shirt, at the printing size
  double width_mm = 0, height_mm = 0;  ///< of the ink
  double plate_scale = 1;              ///< printing size over the plates' own
  FitReport fit;                       ///< for the sizes ordered
  std::vector<InkStudy> inks;          ///< in print order
  std::vector<ShirtStudy> shirts;
  std::vector<PassStudy> passes;    ///< as the scene's
  std::vector<PagePicture> plates;  ///< small, black on white, one for each ink
  PrintPixels close_up;
  std::vector<WatchPlace> watch;
  std::optional<ShirtRun> run;
  bool share_asked = false;  ///< the customer asked on how many shirts register shows
  double quoted_mm = 0;      ///< the press holds +- this between a pair
};

/// Reads scenes and predicts. What was noticed is added to notes. Throws InputError with every fault of the
/// scenes.
std::vector<PrintStudy> study_prints(const Order& order, const StudySettings& settings, Diagnostics& notes);
/// One print of the order alone.
PrintStudy study_print(const Order& order, const OrderPrint& print, const StudySettings& settings,
                       Diagnostics& notes);

/// Throws InputError where an ink discharges, youth sizes are ordered and nobody has agreed to it.
void stop_for_youth_discharge(const Order& order, const std::vector<PrintStudy>& studies);

/// Sizes to draw: the smallest and the largest ordered; S and 2XL where none is.
struct ExtremeSizes {
  ShirtSize smallest = ShirtSize::s, largest = ShirtSize::xl2;
  bool assumed = false;
};
ExtremeSizes extreme_sizes(const Order& order);

/// SHA-256 of the order's file, its scenes and their plates, by content alone: 64 hex digits.
std::string checksum_of(const Order& order, const std::vector<PrintStudy>& studies);
/// Collar to print (sleeve: hem to print) on shirts of this size: as ordered, else the usual.
double drop_mm(const OrderPrint& print, ShirtSize size);

/// "3f9a 11c2 07be 5d10": as people compare it.
std::string short_checksum(const std::string& hex);

/// Plain sentences for the customer, from the numbers. None stronger than the data.
std::vector<std::string> expectations(const PrintStudy& study);
/// What the customer is asked: type near the shirt in lightness, sizes that the print is too large for.
std::vector<std::string> questions(const Order& order, const PrintStudy& study);

/// Both units, as shops use both: "12.0 in (305 mm)".
std::string both_units(double mm);

}  // namespace kirtle

#pragma once
// The part of an HTML proof that tells of one print. For proof_html.cpp.
#include "proof/print_views.h"

#include <string>
#include <vector>

namespace kirtle {

/// Colours that the page's style gives to classes, so that no element has a style of its own: "k0", "k1".
class ColourClasses {
 public:
  /// Name of the class for a colour.
  std::string name_of(const Rgb8& codes);
  /// Rules for all of them.
  std::string rules() const;

 private:
  std::vector<Rgb8> codes_;
};

/// `number`: of the print, from 0; it keeps ids apart. A grown share of the drawn shirts' widths goes into
/// `rules`. quality: of the JPEGs.
std::string print_section(const Order& order, const PrintStudy& study, const PrintViews& views,
                          std::size_t number, int quality, ColourClasses& colours, std::string& rules);

/// <ul class="CLASS"> of texts.
std::string html_list(const std::string& css_class, const std::vector<std::string>& texts);

}  // namespace kirtle

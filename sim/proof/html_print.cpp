#include "proof/html_print.h"

#include "light/weights.h"
#include "proof/html_parts.h"
#include "proof/proof_flow.h"
#include "proof/proof_words.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

/// Pixels across all drawn shirts of a print together.
constexpr double kShirtsPx = 1100;

std::string image(const PagePicture& picture, const std::string& alt, int quality) {
  return fmt::format(R"(<img src="data:image/jpeg;base64,{}" width="{}" height="{}" alt="{}">)",
                     base64(jpeg_bytes(picture, quality)), picture.width, picture.height, html_text(alt));
}

/// "Daylight (D50)", without its article, as a choice.
std::string light_choice(const std::string& light) {
  std::string out = light_words(light);
  for (const char* article : {"an ", "a "})
    if (out.starts_with(article)) out.erase(0, std::char_traits<char>::length(article));
  if (out[0] >= 'a' && out[0] <= 'z') out[0] = static_cast<char>(out[0] - 'a' + 'A');
  return out;
}

std::string radios(const std::string& legend, const std::string& kind, std::size_t number,
                   const std::vector<std::string>& inner) {
  if (inner.size() < 2) return fmt::format("<p><b>{}</b>: {}</p>\n", legend, inner.front());
  std::string out = fmt::format("<fieldset><legend>{}</legend><div class=\"choices\">\n", legend);
  for (std::size_t i = 0; i < inner.size(); ++i)
    out +=
        fmt::format(R"(<label><input type="radio" name="{0}-{1}" data-kind="{0}" value="{2}"{3}>{4}</label>)"
                    "\n",
                    kind, number, i, i == 0 ? " checked" : "", inner[i]);
  return out + "</div></fieldset>\n";
}

std::string switches(const PrintViews& views, std::size_t number, ColourClasses& colours) {
  std::vector<std::string> shirts, lights;
  for (std::size_t s = 0; s < views.shirts.size(); ++s)
    shirts.push_back(fmt::format("<span class=\"chip {}\"></span>{}", colours.name_of(views.cloth[s]),
                                 html_text(views.shirts[s])));
  for (const std::string& light : views.lights) lights.push_back(html_text(light_choice(light)));
  std::string out = "<div class=\"switches\">\n" + radios("Shirt", "shirt", number, shirts) +
                    radios("Light", "light", number, lights);
  if (views.pictures.size() > 1) {
    out += fmt::format(
        "<label class=\"name\" for=\"with-{0}\">Compare with</label>\n<select id=\"with-{0}\">"
        "<option value=\"\">nothing</option>",
        number);
    for (std::size_t s = 0; s < shirts.size(); ++s)
      for (std::size_t l = 0; l < lights.size(); ++l)
        out += fmt::format("<option value=\"{}-{}\">{}, {}</option>", s, l, html_text(views.shirts[s]),
                           html_text(light_words(views.lights[l])));
    out += fmt::format(
        "</select>\n<div class=\"between\" hidden><label class=\"name\" for=\"line-{0}\">Line between the "
        "two</label><input type=\"range\" id=\"line-{0}\" min=\"0\" max=\"100\" value=\"50\"></div>\n",
        number);
  }
  return out + "</div>\n";
}

std::string stage(const PrintStudy& study, const PrintViews& views, std::size_t number, int quality,
                  ColourClasses& colours) {
  std::string out = "<div class=\"views\">\n<div><div class=\"stage\">\n";
  for (std::size_t s = 0; s < views.shirts.size(); ++s) {
    for (std::size_t l = 0; l < views.lights.size(); ++l) {
      const std::string light = light_words(views.lights[l]);
      out += fmt::format(
          "<figure class=\"view{}\" data-key=\"{}-{}\">{}<figcaption>{}, {}</figcaption></figure>\n",
          s + l == 0 ? " shown" : "", s, l,
          image(views.picture(s, l), garment_alt(study, views.shirts[s]) + ", " + light, quality),
          html_text(views.shirts[s]), html_text(light));
    }
  }
  out +=
      "<div class=\"line\"></div></div>\n<p class=\"status\" role=\"status\" "
      "aria-live=\"polite\"></p></div>\n";
  out += "<div>" + switches(views, number, colours);
  std::string note = fmt::format("Drawn on size {}.", to_string(views.size));
  if (views.shirts.size() < views.shirts_in_all)
    note += fmt::format(" The first {} of {} shirts are shown.", views.shirts.size(), views.shirts_in_all);
  if (views.lights.size() > 1)
    note +=
        " Each light as eyes used to it see the shirt. Screens differ, so small differences may not show.";
  return out + "<p class=\"small\">" + note + "</p></div>\n</div>\n";
}

std::string inks_table(const PrintStudy& study, ColourClasses& colours) {
  const std::size_t shirts = std::min(study.shirts.size(), kMostViewShirts);
  std::string out = "<div class=\"wide\"><table class=\"inks\"><thead><tr>";
  for (std::size_t s = 0; s < shirts; ++s)
    out += "<th scope=\"col\">" +
           (study.shirts.size() > 1 ? "on " + html_text(study.shirts[s].name) : std::string(kAsItPrints)) +
           "</th>";
  out += fmt::format("<th scope=\"col\">{}</th></tr></thead>\n<tbody>", kInk);
  for (const InkStudy& ink : study.inks) {
    out += "<tr>";
    for (std::size_t s = 0; s < shirts; ++s)
      out += fmt::format(R"(<td><span class="patch {}" role="img" aria-label="{} on {}"></span></td>)",
                         colours.name_of(ink.on[s].codes), html_text(ink.customer),
                         html_text(study.shirts[s].name));
    const std::string note = ink_note(ink, shirts);
    out += "<th scope=\"row\">" + html_text(ink.customer) +
           (note.empty() ? "" : "<br><span class=\"small\">" + html_text(note) + "</span>") + "</th></tr>\n";
  }
  return out + "</tbody></table></div>\n";
}

/// Drawn shirts at one scale: each grows by its own width.
std::string shirts_panel(const Order& order, const PrintStudy& study, std::size_t number, int quality,
                         std::string& rules) {
  std::vector<Garment> garments;
  double sum_mm = 0;
  const std::vector<DrawnSize> drawn = drawn_sizes(order);
  for (const DrawnSize& d : drawn) {
    Garment g;
    const ShirtMeasures m = measures_of(d.size);
    g.chest_mm = m.chest_in * kMmPerInch;
    g.length_mm = m.length_in * kMmPerInch;
    g.cloth = study.shirts.front().linear;
    g.location = study.print.location;
    g.drop_mm = drop_mm(study.print, d.size);
    g.print_width_mm = width_for(order, study, d.size);
    g.print_height_mm = g.print_width_mm * study.height_mm / study.width_mm;
    sum_mm += lay_garment(g).width_mm;
    garments.push_back(g);
  }
  std::string out = "<div class=\"shirts\">\n";
  for (std::size_t i = 0; i < garments.size(); ++i) {
    const Garment& g = garments[i];
    rules += fmt::format(".g{}-{} {{ flex-grow: {:.0f}; }}\n", number, i, lay_garment(g).width_mm);
    const PagePicture shirt =
        on_ground(draw_garment(g, study.shirts.front().print, kShirtsPx / std::max(sum_mm, 1600.0)));
    out += fmt::format(
        "<figure class=\"g{}-{}\">{}<figcaption>{}<br>print {} wide, {} high</figcaption></figure>\n", number,
        i, image(shirt, garment_alt(study, study.shirts.front().name) + ", " + drawn[i].caption, quality),
        html_text(drawn[i].caption), both_units(g.print_width_mm), both_units(g.print_height_mm));
  }
  return out + "</div>\n";
}

}  // namespace

std::string ColourClasses::name_of(const Rgb8& codes) {
  const auto it = std::find(codes_.begin(), codes_.end(), codes);
  const auto number = it - codes_.begin();
  if (it == codes_.end()) codes_.push_back(codes);
  return fmt::format("k{}", number);
}

std::string ColourClasses::rules() const {
  std::string out;
  for (std::size_t i = 0; i < codes_.size(); ++i)
    out += fmt::format(".k{} {{ background: {}; }}\n", i, hex_text(codes_[i]));
  return out;
}

std::string html_list(const std::string& css_class, const std::vector<std::string>& texts) {
  std::string out = "<ul class=\"" + css_class + "\">\n";
  for (const std::string& text : texts) out += "<li>" + html_text(text) + "</li>\n";
  return out + "</ul>\n";
}

std::string print_section(const Order& order, const PrintStudy& study, const PrintViews& views,
                          std::size_t number, int quality, ColourClasses& colours, std::string& rules) {
  std::string out = fmt::format(
      "<section aria-labelledby=\"print-{0}\">\n<h2 id=\"print-{0}\">{1}</h2>\n<p class=\"sizes\">{2}</p>\n",
      number, html_text(print_title(order, study)), html_text(size_text(order, study)));
  out += stage(study, views, number, quality, colours);
  out += "<div class=\"sheet\">\n<div><h3>Inks</h3>\n" + inks_table(study, colours) + "</div>\n";
  rules += fmt::format("@media print {{ .real-{} img {{ width: {:.2f}mm; }} }}\n", number,
                       study.close_up.width / study.close_up.px_per_mm);
  out += fmt::format("<div class=\"close real-{}\">", number) + "<h3>Close up</h3>\n<figure>" +
         image(close_up(study.close_up), kCloseUpAlt, 90) +
         fmt::format("<figcaption>{}</figcaption></figure></div>\n", kRealSize);
  out += "<div class=\"full\"><h3>To scale</h3>\n" + shirts_panel(order, study, number, quality, rules) +
         "</div>\n";
  out += fmt::format("<div><h3>{}</h3>\n", kExpectHeading) + html_list("notes", expectations(study)) +
         "</div>\n";
  const std::vector<std::string> asked = questions(order, study);
  if (!asked.empty())
    out += fmt::format("<div><h3>{}</h3>\n", kAskHeading) + html_list("notes ask", asked) + "</div>\n";
  return out + "</div>\n</section>\n";
}

}  // namespace kirtle

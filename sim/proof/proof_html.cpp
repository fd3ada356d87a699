#include "proof/proof_html.h"

#include "base/check.h"
#include "base/replaced_file.h"
#include "proof/html_parts.h"
#include "proof/html_print.h"
#include "proof/page_file.h"
#include "proof/proof_words.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle {

namespace {

/// JPEG quality: the highest of these with which the pictures stay within kMostBytes; the last if none does.
constexpr int kQualities[] = {88, 82, 76, 70, 62};
constexpr std::size_t kMostBytes = 2'900'000;

std::string head(const std::string& title, const std::string& style) {
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; style-src "
      "{}; script-src {}; base-uri 'none'; form-action 'none'\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta name=\"referrer\" content=\"no-referrer\">\n<meta name=\"generator\" content=\"Kirtle\">\n"
      "<title>{}</title>\n<style>{}</style>\n</head>\n",
      csp_digest(style), csp_digest(proof_script()), html_text(title), style);
}

std::string header(const Order& order, const std::vector<PrintStudy>& studies) {
  return fmt::format(
      "<header>\n<div class=\"top\"><div><h1>{}</h1>\n<p class=\"for\">{}</p></div>\n{}</div>\n</header>\n",
      html_text(proof_title(order, studies)), html_text(proof_for(order)),
      html_list("facts", proof_facts(order)));
}

std::string count_table(const Order& order, const PrintStudy& study) {
  const std::vector<std::vector<std::string>> counts = shirt_counts(order, study);
  if (counts.empty()) return {};
  std::string out =
      "<div class=\"wide\" role=\"region\" aria-label=\"Shirts ordered\" tabindex=\"0\"><table "
      "class=\"count\"><thead><tr>";
  for (const std::string& title : counts[0]) out += "<th scope=\"col\">" + html_text(title) + "</th>";
  out += "</tr></thead>\n<tbody>";
  for (std::size_t r = 1; r < counts.size(); ++r) {
    out += "<tr><th scope=\"row\">" + html_text(counts[r][0]) + "</th>";
    for (std::size_t c = 1; c < counts[r].size(); ++c) out += "<td>" + html_text(counts[r][c]) + "</td>";
    out += "</tr>\n";
  }
  return out + "</tbody></table></div>\n";
}

std::string sign(const Order& order, const std::string& short_sum) {
  std::string out = "<div class=\"sign\">\n<ul>\n";
  for (const std::string& choice : approval_choices())
    out += "<li class=\"tick\">" + html_text(choice) + "</li>\n";
  out += "</ul>\n";
  const auto blank = [](const char* word) { return fmt::format("<p class=\"blank\">{}</p>\n", word); };
  out += blank(kComments) + blank("") + "<div class=\"names\">" + blank(kName) + blank(kSignature) +
         blank(kDate) + "</div>\n<p class=\"small\">" + html_text(signed_for(order, short_sum)) + "</p>\n";
  return out + "</div>\n";
}

std::string approval(const Order& order, const std::vector<PrintStudy>& studies, const std::string& short_sum,
                     const std::string& reply) {
  std::string out = "<section aria-labelledby=\"approval\">\n<h2 id=\"approval\">" +
                    approval_heading(studies) + "</h2>\n" + count_table(order, studies.front());
  if (!order.note.empty()) out += "<p>" + html_text("Note: " + order.note) + "</p>\n";
  std::vector<std::string> notes{tolerance_text(order, studies)};
  for (std::string& text : caution_texts(order, studies)) notes.push_back(std::move(text));
  out += html_list("notes", notes) + sign(order, short_sum);
  // Line by line: line ends of the reply are ours, and html_text makes spaces of those in names.
  std::string lines;
  for (std::size_t at = 0; at < reply.size();) {
    const std::size_t end = std::min(reply.find('\n', at), reply.size());
    lines += html_text(reply.substr(at, end - at)) + '\n';
    at = end + 1;
  }
  return out +
         "<div class=\"reply\"><h3>Reply by e-mail</h3>\n<p>Copy this text into your answer and fill it "
         "in.</p>\n<pre id=\"reply\">" +
         lines +
         "</pre>\n<button type=\"button\" class=\"copy\">Copy the text</button> <span id=\"copied\" "
         "role=\"status\" aria-live=\"polite\"></span></div>\n</section>\n";
}

}  // namespace

std::string reply_text(const Order& order, const std::vector<PrintStudy>& studies,
                       const std::string& checksum) {
  std::string out = clean_text(proof_title(order, studies)) + '\n';
  for (const std::string& fact : proof_facts(order)) out += clean_text(fact) + '\n';
  out += "Checksum " + short_checksum(checksum) + "\n\n";
  for (const std::string& choice : approval_choices()) out += "[ ] " + choice + '\n';
  out += fmt::format("\n{}:\n\n", kComments);
  std::string asked;
  for (const PrintStudy& study : studies)
    for (const std::string& question : questions(order, study))
      asked += clean_text(location_heading(study.print.location) + ". " + question) + "\n> \n";
  if (!asked.empty()) out += fmt::format("{}:\n{}\n", kAskHeading, asked);
  return out + fmt::format("{}:\n{}:\n", kName, kDate);
}

std::string proof_html(const Order& order, const std::vector<PrintStudy>& studies,
                       const std::vector<PrintViews>& views, const std::string& checksum) {
  KIRTLE_CHECK(studies.size(), >, std::size_t{0});
  KIRTLE_CHECK(studies.size(), ==, views.size());
  const std::string short_sum = short_checksum(checksum);
  std::string sections, rules;
  ColourClasses colours;
  for (const int quality : kQualities) {
    sections.clear();
    rules.clear();
    for (std::size_t i = 0; i < studies.size(); ++i)
      sections += print_section(order, studies[i], views[i], i, quality, colours, rules);
    if (sections.size() <= kMostBytes) break;
  }
  const std::string style = "\n" + std::string(proof_style()) + colours.rules() + rules;
  return head("Proof: " + proof_title(order, studies), style) + "<body>\n" + header(order, studies) +
         "<main>\n" + sections + approval(order, studies, short_sum, reply_text(order, studies, checksum)) +
         "</main>\n<footer><p>" + html_text(proof_foot(short_sum)) + "</p></footer>\n<script>" +
         std::string(proof_script()) + "</script>\n</body>\n</html>\n";
}

void write_html(const std::string& html, const std::filesystem::path& target) {
  check_ending(target, {".html", ".htm"});
  write_file(target, html);
}

}  // namespace kirtle

// The HTML proof: nothing fetched, nothing smuggled in, the words of the paper, pictures of what is
// predicted.
#include "proof/proof_html.h"

#include "proof/html_parts.h"
#include "proof/order_fixture.h"
#include "proof/pdf_tools.h"
#include "proof/proof_words.h"

#include <fstream>
#include <iterator>
#include <regex>

namespace kirtle::test {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

// Truth: RFC 4648, section 10; the digest of nothing: FIPS 180-4 (e3b0c442...).
TEST(HtmlParts, Base64AndDigestAsPublished) {
  EXPECT_EQ(base64("f"), "Zg==");
  EXPECT_EQ(base64("fo"), "Zm8=");
  EXPECT_EQ(base64("foobar"), "Zm9vYmFy");
  EXPECT_EQ(csp_digest(""), "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='");
}

TEST(HtmlParts, TextStaysText) {
  EXPECT_EQ(html_text("<script>a('1', \"2\") && b</script>"),
            "&lt;script&gt;a(&#39;1&#39;, &quot;2&quot;) &amp;&amp; b&lt;/script&gt;");
  EXPECT_EQ(html_text("&amp;"), "&amp;amp;");
  EXPECT_EQ(html_text(std::string("a\0b\x07\x1b[31m\xFF", 9)),
            "a\xEF\xBF\xBD"
            "b\xEF\xBF\xBD\xEF\xBF\xBD[31m");
  EXPECT_EQ(html_text("a\n\r\tb"), "a   b");
  EXPECT_EQ(html_text("exe\xE2\x80\xAEgnp"), "exegnp");  // U+202E: right to left override
  EXPECT_EQ(html_text("日本語 שלום ไทย"), "日本語 שלום ไทย");
  EXPECT_EQ(html_text(std::string(10000, '<')).size(), 40000u);
}

/// Read back by another program: the colour stays, edge and middle.
TEST(HtmlParts, JpegKeepsColours) {
  const TempFolder scratch;
  PagePicture picture;
  picture.width = 48;
  picture.height = 32;
  const std::array<std::uint8_t, 3> left{150, 20, 30}, right{20, 40, 90};
  for (int y = 0; y < 32; ++y)
    for (int x = 0; x < 48; ++x) {
      const auto& c = x < 24 ? left : right;
      picture.rgba.insert(picture.rgba.end(), {c[0], c[1], c[2], 255});
    }
  const std::string bytes = jpeg_bytes(picture, 88);
  EXPECT_EQ(bytes, jpeg_bytes(picture, 88));
  EXPECT_GT(bytes.size(), jpeg_bytes(picture, 40).size());
  std::ofstream(scratch / "a.jpg", std::ios::binary) << bytes;
  ASSERT_EQ(
      run({"convert", (scratch / "a.jpg").string(), "-depth", "8", (scratch / "a.rgb").string()}).status, 0);
  std::ifstream in(scratch / "a.rgb", std::ios::binary);
  const std::string rgb{std::istreambuf_iterator<char>(in), {}};
  ASSERT_EQ(rgb.size(), std::size_t{3 * 48 * 32});
  for (const int x : {4, 22, 25, 43}) {
    for (std::size_t c = 0; c < 3; ++c) {
      const int seen = static_cast<unsigned char>(rgb[3 * (48 * 16 + static_cast<std::size_t>(x)) + c]);
      EXPECT_NEAR(seen, (x < 24 ? left : right)[c], 3) << x << ' ' << c;
    }
  }
}

TEST(PrintViews, LightsBeginWithTheScenesAndHoldOneDaylight) {
  EXPECT_THAT(view_lights("D50"), ElementsAre("D50", "A", "F11", "LED-B3"));
  EXPECT_THAT(view_lights("D65"), ElementsAre("D65", "A", "F11", "LED-B3"));
  EXPECT_THAT(view_lights("F11"), ElementsAre("F11", "D50", "A", "LED-B3"));
  EXPECT_THAT(view_lights("F2"), ElementsAre("F2", "D50", "A", "F11"));
}

TEST(DrawnGarment, AWindowIsACutOfTheWhole) {
  Garment g;
  g.cloth = {0.2F, 0.1F, 0.05F};
  PrintPixels print;
  print.width = print.height = 2;
  print.rgb = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 1, 1}};
  const PagePicture whole = draw_garment(g, print, 0.25);
  const GarmentWindow window{whole.width - 60, 20, 80, 70};  // beyond the right side
  const PagePicture part = draw_garment(g, print, 0.25, window);
  ASSERT_EQ(part.width, 80);
  ASSERT_EQ(part.height, 70);
  for (int y = 0; y < 70; ++y)
    for (int x = 0; x < 80; ++x)
      for (int c = 0; c < 4; ++c) {
        const int in =
            window.x0 + x < whole.width
                ? whole.rgba[static_cast<std::size_t>(4 * ((20 + y) * whole.width + window.x0 + x) + c)]
                : 0;
        ASSERT_EQ(part.rgba[static_cast<std::size_t>(4 * (y * 80 + x) + c)], in) << x << ' ' << y;
      }
}

class ProofHtml : public Orders {
 protected:
  struct Html {
    std::vector<PrintStudy> studies;
    std::vector<PrintViews> views;
    std::string html;
  };
  static Html html(const Order& order) {
    Diagnostics notes;
    Html out;
    out.studies = study_prints(order, {}, notes);
    for (const PrintStudy& study : out.studies)
      out.views.push_back(print_views(order, study, out.studies.size(), {}, notes));
    out.html = proof_html(order, out.studies, out.views, checksum_of(order, out.studies));
    return out;
  }
  static std::size_t count(const std::string& text, const std::string& pattern) {
    const std::regex expression(pattern);
    return static_cast<std::size_t>(
        std::distance(std::sregex_iterator(text.begin(), text.end(), expression), {}));
  }
  /// The page without pictures' bytes.
  static std::string bare(std::string html) {
    for (std::size_t at = 0; (at = html.find("base64,", at)) != std::string::npos;) {
      at += 7;
      html.erase(at, html.find('"', at) - at);
    }
    return html;
  }
  const std::string top_ = "schema = 1\ncustomer = \"Harbour choir (invented)\"\norder = \"7\"\n";
  const std::string print_ = "[[print]]\nlocation = \"front\"\nscene = \"a.toml\"\n";
};

TEST_F(ProofHtml, FetchesNothingAndHoldsNoStylesOrScriptsBesideItsOwn) {
  scene("a", "black-cotton", kThreeInks, 4, 4, "other_shirts = [\"navy-cotton\", \"sand-cotton\"]");
  const Html made = html(read_order(folder_.path() / "a.toml"));
  const std::string page = bare(made.html);
  const std::size_t pictures = count(page, "<img ");
  EXPECT_EQ(pictures, 3u * 4u + 1 + 2);  // views, close-up, two sizes
  EXPECT_EQ(
      count(page, " src=\"data:image/jpeg;base64,\" width=\"[0-9]+\" height=\"[0-9]+\" alt=\"[^\"]+\">"),
      pictures);
  EXPECT_EQ(count(page, " src="), pictures);
  for (const char* never : {"href", "https?:", "@import", "url\\(", " style=", " on[a-z]+=", "<iframe",
                            "<form", "<link", "http-equiv=\"refresh"})
    EXPECT_EQ(count(page, never), 0u) << never;
  EXPECT_EQ(count(page, "<script"), 1u);
  EXPECT_EQ(count(page, "<style"), 1u);
  EXPECT_THAT(page, HasSubstr("default-src 'none'; img-src data:; style-src 'sha256-"));
  EXPECT_THAT(page, Not(HasSubstr("unsafe")));
  const auto between = [&](const std::string& from, const std::string& to) {
    const std::size_t at = page.find(from) + from.size();
    return page.substr(at, page.find(to, at) - at);
  };
  EXPECT_THAT(page, HasSubstr("style-src " + csp_digest(between("<style>", "</style>"))));
  EXPECT_THAT(page, HasSubstr("script-src " + csp_digest(between("<script>", "</script>"))));
  EXPECT_THAT(page, HasSubstr("<html lang=\"en\">"));
}

TEST_F(ProofHtml, SaysWhatThePaperSays) {
  scene("a", "black-cotton", {{"base", "base-white", "flash = true", "The old lighthouse"}, {"red", "red"}},
        12, 14);
  const Order o =
      order(top_ + "version = 3\nreplaces = 2\nnote = \"Stage door\"\n" + print_ +
            "[[shirts]]\nshirt = \"black-cotton\"\nstyle = \"heavy tee\"\nquantities = { YS = 3, XL = 7 }\n"
            "[[shirts]]\nshirt = \"sand-cotton\"\nquantities = { M = 20 }\n");
  const Html made = html(o);
  std::string paper = words_of(customer_proof(o, made.studies, checksum_of(o, made.studies)));
  const std::string sum = short_checksum(checksum_of(o, made.studies));
  std::vector<std::string> texts{proof_title(o, made.studies),
                                 proof_for(o),
                                 tolerance_text(o, made.studies),
                                 signed_for(o, sum),
                                 proof_foot(sum),
                                 approval_heading(made.studies),
                                 size_text(o, made.studies[0]),
                                 "Note: Stage door",
                                 kComments,
                                 kSignature,
                                 kExpectHeading,
                                 kAskHeading,
                                 "The old lighthouse",
                                 "heavy tee"};
  const auto add = [&](const std::vector<std::string>& more) {
    texts.insert(texts.end(), more.begin(), more.end());
  };
  add(proof_facts(o));
  add(caution_texts(o, made.studies));
  add(expectations(made.studies[0]));
  add(questions(o, made.studies[0]));
  add(approval_choices());
  for (const InkStudy& ink : made.studies[0].inks) {
    add({ink.customer, ink_note(ink, 2)});
    for (const InkOnShirt& on : ink.on)  // its swatch
      EXPECT_THAT(made.html, HasSubstr("{ background: " + hex_text(on.codes) + "; }"));
  }
  for (const DrawnSize& drawn : drawn_sizes(o)) add({drawn.caption});
  for (const std::string& text : texts) {
    EXPECT_THAT(made.html, HasSubstr(html_text(text)));
    EXPECT_THAT(paper, HasSubstr(text));
  }
  EXPECT_THAT(texts, ::testing::Contains("Version 3, replaces version 2"));
  EXPECT_THAT(reply_text(o, made.studies, checksum_of(o, made.studies)),
              ::testing::StartsWith("Stripes\nOrder 7\nVersion 3, replaces version 2\nChecksum " + sum));
}

TEST_F(ProofHtml, NamesStayNames) {
  scene("a", "black-cotton", {{"<plate>", "black", "", "<img src=x onerror=alert(1)>"}}, 4, 4, "",
        "</title><script>alert(1)</script>");
  Order o = order(
      "schema = 1\ncustomer = \"<b>\\\"Zo\\u0007\\\"</b> \\u202Egnp.exe\"\norder = \"]]>&<'\"\n" + print_ +
      "[[shirts]]\nshirt = \"black-cotton\"\nstyle = \"</td><script>\"\nquantities = { S = 1 }\n");
  const std::string page = bare(html(o).html);
  EXPECT_EQ(count(page, "<script"), 1u);
  EXPECT_EQ(count(page, "</script"), 1u);
  EXPECT_EQ(count(page, "</title"), 1u);
  EXPECT_EQ(count(page, "<b>&quot;|<img src=x"), 0u);
  EXPECT_THAT(page, HasSubstr("&lt;b&gt;&quot;Zo\xEF\xBF\xBD&quot;&lt;/b&gt; gnp.exe"));
  EXPECT_THAT(page, HasSubstr("Order ]]&gt;&amp;&lt;&#39;"));
  EXPECT_THAT(page, HasSubstr("&lt;img src=x onerror=alert(1)&gt; on Black"));  // in an attribute
  o.customer = std::string(10000, '"');
  o.note = "日本語 שלום " + std::string(10000, 'W');
  const std::string longer = html(o).html;
  EXPECT_EQ(count(longer.substr(longer.find("Proof for &quot;"), 60100), "&quot;"), 10000u);
  EXPECT_THAT(longer, HasSubstr("日本語 שלום WWW"));
}

TEST_F(ProofHtml, SameOrderSameBytes) {
  scene("a", "black-cotton", kThreeInks, 4, 4, "other_shirts = [\"navy-cotton\"]");
  const Order o = read_order(folder_.path() / "a.toml");
  EXPECT_EQ(html(o).html, html(o).html);
}

// The middle of the print lies in a solid stripe: its colour is the ink's, shaded by the drawn cloth at most.
TEST_F(ProofHtml, ViewsShowThePredictedColours) {
  scene("a", "black-cotton", {{"base", "base-white", "flash = true"}, {"red", "red"}, {"blue", "royal-blue"}},
        9, 9, "other_shirts = [\"sand-cotton\"]");
  const Order o = read_order(folder_.path() / "a.toml");
  const Html made = html(o);
  const PrintViews& v = made.views[0];
  ASSERT_EQ(v.shirts.size(), 2u);
  ASSERT_EQ(v.lights.size(), 4u);
  const auto pixel = [](const PagePicture& p, int x, int y) {
    const std::size_t at =
        4 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(p.width) + static_cast<std::size_t>(x));
    return Rgb8{p.rgba[at], p.rgba[at + 1], p.rgba[at + 2]};
  };
  const Rgb8 middle = pixel(v.picture(0, 0), kViewWidth / 2, kViewHeight / 2);
  const Rgb8& ink = made.studies[0].inks[1].on[0].codes;
  for (std::size_t c = 0; c < 3; ++c) EXPECT_NEAR(middle[c], ink[c], 8) << c;
  // Bare cloth, left of the print: other shirts differ, and so do lights.
  for (std::size_t s = 0; s < 2; ++s) {
    const Rgb8 cloth = pixel(v.picture(s, 0), 30, kViewHeight / 2);
    for (std::size_t c = 0; c < 3; ++c) EXPECT_NEAR(cloth[c], v.cloth[s][c], 10) << s << c;
  }
  EXPECT_NE(v.cloth[0], v.cloth[1]);
  for (std::size_t a = 0; a < v.pictures.size(); ++a)
    for (std::size_t b = a + 1; b < v.pictures.size(); ++b) EXPECT_NE(v.pictures[a].rgba, v.pictures[b].rgba);
}

TEST_F(ProofHtml, PicturesAreBoundedAndThePageSaysSo) {
  scene("a", "sand-cotton", {{"one", "wb-black"}}, 3, 3);
  std::string text = top_;
  for (const char* place : {"front", "back", "left chest", "sleeve", "nape"})
    text += std::string("[[print]]\nlocation = \"") + place + "\"\nscene = \"a.toml\"\n";
  for (const char* id : {"ash-heather", "black-cotton", "navy-cotton", "red-cotton", "sand-cotton"})
    text += std::string("[[shirts]]\nshirt = \"") + id + "\"\nquantities = { M = 2 }\n";
  const Html made = html(order(text));
  std::size_t pictures = 0;
  for (const PrintViews& v : made.views) {
    EXPECT_EQ(v.shirts.size(), 4u);  // of 24 pictures, shared by five prints; lamps go before shirts
    EXPECT_EQ(v.lights.size(), 1u);
    EXPECT_EQ(v.shirts_in_all, 5u);
    pictures += v.pictures.size();
  }
  EXPECT_LE(pictures, kMostViews);
  EXPECT_THAT(made.html, HasSubstr("The first 4 of 5 shirts are shown."));
  EXPECT_LT(made.html.size(), 3'000'000u);
}

TEST_F(ProofHtml, RefusesOtherEndings) {
  EXPECT_THROW(write_html("a", folder_.path() / "a.pdf"), InputError);
  EXPECT_NO_THROW(write_html("a", folder_.path() / "a.HTM"));
  EXPECT_THROW(write_html("a", folder_.path() / "missing/a.html"), InputError);
}

}  // namespace
}  // namespace kirtle::test

#include "proof/pdf_finish.h"

#include "light/icc_output.h"
#include "proof/sha256.h"

#include <memory>
#include <vector>

// clang 14, with the library of g++ 12, cannot compile qpdf's JSON.hh as C++20 (a vector of a class that is
// not complete yet). Nothing here needs what is in it.
#if defined(__clang__) && __clang_major__ < 16
#define JSON_HH
class JSON;
#endif
#include <qpdf/Buffer.hh>
#include <qpdf/QPDF.hh>
#include <qpdf/QPDFObjectHandle.hh>
#include <qpdf/QPDFWriter.hh>

namespace kirtle {

namespace {

using Handle = QPDFObjectHandle;

Handle stream_of(QPDF& pdf, std::string_view bytes) { return Handle::newStream(&pdf, std::string(bytes)); }

void add_output_intent(QPDF& pdf) {
  const IccOutput srgb = IccOutput::srgb({XYZ{96.42, 100, 82.49}, Intent::relative, true});
  const auto profile = srgb.profile_bytes();
  Handle stream = stream_of(pdf, {reinterpret_cast<const char*>(profile.data()), profile.size()});
  stream.getDict().replaceKey("/N", Handle::newInteger(3));
  Handle intent = Handle::newDictionary();
  intent.replaceKey("/Type", Handle::newName("/OutputIntent"));
  intent.replaceKey("/S", Handle::newName("/GTS_PDFA1"));
  intent.replaceKey("/OutputConditionIdentifier", Handle::newUnicodeString("sRGB IEC61966-2.1"));
  intent.replaceKey("/RegistryName", Handle::newUnicodeString("http://www.color.org"));
  intent.replaceKey("/Info", Handle::newUnicodeString("sRGB IEC61966-2.1"));
  intent.replaceKey("/DestOutputProfile", pdf.makeIndirectObject(stream));
  Handle list = Handle::newArray();
  list.appendItem(pdf.makeIndirectObject(intent));
  pdf.getRoot().replaceKey("/OutputIntents", list);
}

std::string xmp(const PageDocument& document, const std::string& id) {
  const auto language_alternative = [](const char* name, const std::string& value) {
    return std::string("   <") + name + "><rdf:Alt><rdf:li xml:lang=\"x-default\">" +
           xml_text(clean_text(value)) + "</rdf:li></rdf:Alt></" + name + ">\n";
  };
  std::string out =
      "<?xpacket begin=\"\xEF\xBB\xBF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n"
      "<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n <rdf:RDF "
      "xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n"
      "  <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" "
      "xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" "
      "xmlns:xmpMM=\"http://ns.adobe.com/xap/1.0/mm/\">\n"
      "   <dc:format>application/pdf</dc:format>\n";
  out += language_alternative("dc:title", document.title);
  if (!document.subject.empty()) out += language_alternative("dc:description", document.subject);
  out += "   <xmp:CreatorTool>Kirtle</xmp:CreatorTool>\n";
  if (!document.date.empty()) {
    for (const char* name : {"xmp:CreateDate", "xmp:ModifyDate"})
      out += std::string("   <") + name + ">" + document.date + "T00:00:00Z</" + name + ">\n";
  }
  if (!document.keywords.empty())
    out += "   <pdf:Keywords>" + xml_text(clean_text(document.keywords)) + "</pdf:Keywords>\n";
  out += "   <xmpMM:DocumentID>uuid:" + id + "</xmpMM:DocumentID>\n";
  out += "  </rdf:Description>\n </rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>\n";
  return out;
}

/// The form of a UUID (RFC 4122, version 8 of RFC 9562: own content) out of a hash.
std::string uuid_of(std::string hex) {
  hex[12] = '8';
  hex[16] = '8';
  return hex.substr(0, 8) + '-' + hex.substr(8, 4) + '-' + hex.substr(12, 4) + '-' + hex.substr(16, 4) + '-' +
         hex.substr(20, 12);
}

void set_info(QPDF& pdf, const PageDocument& document) {
  Handle info = Handle::newDictionary();
  const auto set = [&](const char* key, const std::string& value) {
    if (!value.empty()) info.replaceKey(key, Handle::newUnicodeString(clean_text(value)));
  };
  set("/Title", document.title);
  set("/Subject", document.subject);
  set("/Keywords", document.keywords);
  set("/Creator", "Kirtle");
  set("/Producer", "Kirtle, with Cairo and qpdf");
  if (!document.date.empty()) {
    std::string digits = document.date;
    std::erase(digits, '-');
    for (const char* key : {"/CreationDate", "/ModDate"})
      info.replaceKey(key, Handle::newString("D:" + digits + "000000Z"));
  }
  pdf.getTrailer().replaceKey("/Info", pdf.makeIndirectObject(info));
}

/// Figures of the structure tree, in order, get what they show.
void describe_figures(Handle element, const std::vector<std::string>& figures, std::size_t& next, int depth) {
  if (!element.isDictionary() || depth > 20) return;
  Handle kind = element.getKey("/S");
  if (kind.isName() && kind.getName() == "/Figure" && next < figures.size())
    element.replaceKey("/Alt", Handle::newUnicodeString(figures[next++]));
  Handle kids = element.getKey("/K");
  if (kids.isArray()) {
    for (int i = 0; i < kids.getArrayNItems(); ++i)
      describe_figures(kids.getArrayItem(i), figures, next, depth + 1);
  } else {
    describe_figures(kids, figures, next, depth + 1);
  }
}

}  // namespace

std::string xml_text(std::string_view clean) {
  std::string out;
  for (const char c : clean) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

std::string finish_pdf(const std::string& bytes, const PageDocument& document,
                       const std::vector<std::string>& figures) {
  QPDF pdf;
  pdf.setSuppressWarnings(true);
  pdf.processMemoryFile("page", bytes.data(), bytes.size());
  set_info(pdf, document);
  add_output_intent(pdf);
  Handle root = pdf.getRoot();
  root.replaceKey("/Lang", Handle::newString("en"));
  Handle viewer = Handle::newDictionary();
  viewer.replaceKey("/DisplayDocTitle", Handle::newBool(true));
  // Printed at 100 %, so that what is said to be real size is.
  viewer.replaceKey("/PrintScaling", Handle::newName("/None"));
  root.replaceKey("/ViewerPreferences", viewer);
  if (Handle tree = root.getKey("/StructTreeRoot"); tree.isDictionary()) {
    std::size_t next = 0;
    describe_figures(tree, figures, next, 0);
    Handle marked = Handle::newDictionary();
    marked.replaceKey("/Marked", Handle::newBool(true));
    root.replaceKey("/MarkInfo", marked);
  }
  Handle metadata = stream_of(pdf, xmp(document, uuid_of(sha256_hex(bytes))));
  metadata.getDict().replaceKey("/Type", Handle::newName("/Metadata"));
  metadata.getDict().replaceKey("/Subtype", Handle::newName("/XML"));
  root.replaceKey("/Metadata", pdf.makeIndirectObject(metadata));

  QPDFWriter writer(pdf);
  writer.setOutputMemory();
  writer.setDeterministicID(true);
  writer.setObjectStreamMode(qpdf_o_disable);
  writer.setMinimumPDFVersion("1.7");
  writer.write();
  const std::unique_ptr<Buffer> out(writer.getBuffer());
  return {reinterpret_cast<const char*>(out->getBuffer()), out->getSize()};
}

}  // namespace kirtle

#include "rondure/making/cautions.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace rondure::plan {
namespace {

bool has(const std::optional<Material>& material, Hazard hazard) {
  return material && std::ranges::count(material->hazards, hazard) > 0;
}

class Cautions {
public:
  void say(bool applies, WarningCode code, std::string text) {
    if (applies) out_.push_back({code, std::move(text)});
  }
  std::vector<Warning> take() { return std::move(out_); }

private:
  std::vector<Warning> out_;
};

void about_the_work(const CautionFacts& facts, Cautions& c) {
  c.say(true, "turning", "Turning: eyes covered, no gloves, loose sleeves or hair; stop before you measure.");
  c.say(facts.smallest_mm < 4, "small-part",
        "Small part: support it, catch it when parting off; no fingers or cloth round it.");
  c.say(facts.form_tool, "form-tool",
        "Wide or thin form tool: it digs in and snaps. Low speed, short overhang, light feed.");
  c.say(facts.form_tool, "hardening",
        "Hardening by torch: nothing near that burns, quench away from the face, temper before use.");
  c.say(facts.abrasive_arbor, "abrasive",
        "Abrasive on an arbor: never wrapped round a finger; keep the grit off the lathe's ways.");
  c.say(facts.press_fit, "press",
        "Pressing on: support the hub, square and slow, eyes covered; no hammer on the machine's bearings.");
}

void about_the_materials(const CautionFacts& facts, Cautions& c) {
  const auto &old = facts.old_material, &now = facts.new_material;
  c.say(!old, "unknown-plastic",
        "Old plastic not identified: it may hold asbestos, or be cellulose nitrate, which burns fiercely. Do "
        "not sand, saw or "
        "heat it dry.");
  c.say(has(old, Hazard::kPhenolic), "phenolic-dust",
        "Old phenolic may be filled with asbestos: no dry sanding or sawing; have it tested.");
  c.say(has(old, Hazard::kCellulose), "cellulose",
        "Cellulose nitrate looks like acetate and catches fire: no flame, no hot wire, no hot chips.");
  c.say(has(old, Hazard::kIsocyanate), "isocyanate",
        "Hot polyurethane gives off harmful vapour: cut it cool, with air moving away from you.");
  c.say(has(now, Hazard::kLead), "lead",
        "The bar contains lead: wash hands before eating, keep the swarf apart.");
  c.say(has(now, Hazard::kChips), "chips",
        "Fine aluminium dust burns: do not grind it where steel is ground.");
  c.say(has(now, Hazard::kFormaldehyde) || has(old, Hazard::kFormaldehyde), "formaldehyde",
        "Hot acetal gives off formaldehyde, its flame is hard to see: sharp tools, no friction.");
  c.say(has(now, Hazard::kChlorine) || has(old, Hazard::kChlorine), "chlorine",
        "Overheated PVC gives off hydrogen chloride: keep it cool, ventilate.");
}

}  // namespace

std::vector<Warning> cautions(const CautionFacts& facts) {
  Cautions c;
  about_the_work(facts, c);
  about_the_materials(facts, c);
  c.say(facts.inertia_ratio.value_or(0) > 1.5, "heavier-rotor",
        fmt::format("{:.1f} times the inertia: slower start and stop, more load on motor, brake and "
                    "bearings. Guard the first "
                    "run.",
                    facts.inertia_ratio.value_or(0)));
  c.say(facts.burst_speed_margin.value_or(4) < 4, "burst",
        fmt::format("It would burst at about {:.1f} times this speed: no run without a guard and a competent "
                    "person's check.",
                    facts.burst_speed_margin.value_or(0)));
  c.say(true, "local-rules",
        "Not complete: local safety rules, data sheets and licensed practice come first.");
  return c.take();
}

}  // namespace rondure::plan

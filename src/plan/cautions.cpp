#include "rondure/plan/cautions.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace rondure::plan {
namespace {

bool has(const std::optional<Material>& material, const char* hazard) {
  return material &&
         std::find(material->hazards.begin(), material->hazards.end(), hazard) != material->hazards.end();
}

void about_old_plastic(const std::optional<Material>& old, std::vector<Warning>& out) {
  if (!old)
    out.push_back({"unknown-plastic",
                   "Old plastic not identified: brown or black mouldings may hold asbestos, clear or ivory "
                   "ones may be cellulose nitrate, which burns fiercely. Do not sand, saw or heat it dry."});
  if (has(old, "phenolic"))
    out.push_back({"phenolic-dust",
                   "Old phenolic may be filled with asbestos: no dry sanding or sawing; have it tested, or "
                   "leave it whole."});
  if (has(old, "cellulose"))
    out.push_back(
        {"cellulose",
         "Cellulose plastics: nitrate looks like acetate and catches fire easily. No flame, no hot wire, "
         "no hot chips; store decaying pieces apart and aired."});
  if (has(old, "isocyanate"))
    out.push_back(
        {"isocyanate",
         "Heated polyurethane gives off harmful vapour: cut it cool, with air moving away from you."});
}

void about_new_material(const CautionFacts& facts, std::vector<Warning>& out) {
  if (has(facts.new_material, "lead"))
    out.push_back(
        {"lead",
         "The bar contains lead: wash hands before eating, keep chips and swarf out of the kitchen bin."});
  if (has(facts.new_material, "chips"))
    out.push_back({"chips", "Aluminium: fine dust burns; do not grind it on the wheel used for steel."});
  if (has(facts.new_material, "formaldehyde") || has(facts.old_material, "formaldehyde"))
    out.push_back({"formaldehyde",
                   "Acetal that overheats gives off formaldehyde, and its flame is nearly invisible: sharp "
                   "tools, no friction, no flame."});
  if (has(facts.new_material, "chlorine") || has(facts.old_material, "chlorine"))
    out.push_back({"chlorine", "Overheated PVC gives off hydrogen chloride: keep it cool and ventilate."});
}

}  // namespace

std::vector<Warning> cautions(const CautionFacts& facts) {
  std::vector<Warning> out;
  out.push_back(
      {"turning",
       "Turning: eye protection, no gloves, sleeves or loose hair near the chuck, key out of the chuck, "
       "stop before you measure."});
  if (facts.smallest_mm < 4)
    out.push_back(
        {"small-part",
         "Small bore or part: support it, file with the work guarded, catch it when parting off; no "
         "fingers, no cloth round it."});
  if (facts.form_tool) {
    out.push_back(
        {"form-tool",
         "Wide or thin form tool: it digs in and snaps. Low speed, rigid set-up, short overhang, light "
         "feed, shield on."});
    out.push_back(
        {"hardening",
         "Hardening a tool by torch: clear the bench of anything that burns, quench away from your face, "
         "oil can flash; temper before use. Grind dry only with eye and breath protection."});
  }
  if (facts.abrasive_arbor)
    out.push_back(
        {"abrasive",
         "Abrasive on an arbor: hold the strip so that it can let go, never wrapped round a finger; keep "
         "grit off the lathe's ways."});
  if (facts.press_fit)
    out.push_back({"press",
                   "Pressing on: support the hub, press square and slowly, eye protection; a hub that cracks "
                   "lets go at "
                   "once. No hammer on the machine's own bearings."});
  about_old_plastic(facts.old_material, out);
  about_new_material(facts, out);
  if (facts.inertia_ratio && *facts.inertia_ratio > 1.5)
    out.push_back(
        {"heavier-rotor",
         fmt::format("The new part has {:.1f} times the inertia: slower start and stop, more load on "
                     "motor, belt, brake and bearings. Guard it for the first run.",
                     *facts.inertia_ratio)});
  if (facts.burst_speed_margin && *facts.burst_speed_margin < 4)
    out.push_back(
        {"burst",
         fmt::format("It would burst at about {:.1f} times this speed. Do not run it without a guard and a "
                     "competent person's check.",
                     *facts.burst_speed_margin)});
  out.push_back({"local-rules",
                 "These reminders are not complete. Local safety rules, material data sheets and licensed "
                 "practice come first."});
  return out;
}

}  // namespace rondure::plan

#pragma once
// The routes by what they are about; api.cpp has the table.
#include "app/serve/desk.h"
#include "app/serve/reply.h"

namespace fettle::serve {

/// What a route is given.
struct Call {
  Desk& desk;
  const Asked& asked;
  std::chrono::milliseconds longest;
  nlohmann::json body;  ///< of a POST
  const std::string& root() const { return desk.folder().root(); }
};
using Route = Reply (*)(const Call&);

Reply plans(const Call&);
Reply schema(const Call&);
Reply plan_of(const Call&);
Reply changes_of(const Call&);
Reply try_changes(const Call&);
Reply accept(const Call&);
Reply undo(const Call&);
Reply redo(const Call&);

Reply study_of(const Call&);
Reply study_next(const Call&);
Reply explain(const Call&);
Reply levers(const Call&);
Reply stop(const Call&);
Reply leave(const Call&);
Reply drawings_of(const Call&);
Reply drawing(const Call&);
Reply sheet(const Call&);
Reply diff(const Call&);
Reply scene(const Call&);
Reply flat(const Call&);
Reply program_of(const Call&);
Reply program_tried(const Call&);

Reply reckoners(const Call&);
Reply reckon(const Call&);
Reply plot(const Call&);
Reply ask(const Call&);

Reply floor_of(const Call&);
Reply floor_advice(const Call&);
Reply entry(const Call&);

Reply begin_drop(const Call&);
Reply begin_look(const Call&);
Reply begin_answers(const Call&);
Reply begin_next(const Call&);
Reply begin_take(const Call&);

/// A shop file that was dropped, or one of the served folder by its path, named as from `folder`.
Outcome<DroppedFile> shop_file(const Call& c, const std::string& folder);

/// The text that the request's `hash` stands for with its `changes` in it; an empty one when that text is not known.
Outcome<std::string> tried_text(const Call& c, Open& open);
nlohmann::json moved_json(const std::vector<study::Moved>& moved);
/// A string of an object; empty when it is not there or no string.
std::string text_in(const nlohmann::json& object, const std::string& key);

}  // namespace fettle::serve

// The board's pages: from plain data to HTML. Pure functions.
#pragma once

#include <string>

#include "board/html.h"
#include "board/view.h"

namespace ebbwatch {

std::string panel_page(const Frame& frame, const PanelView& view);
std::string site_page(const Frame& frame, const SiteView& view);
std::string outage_page(const Frame& frame, const OutageView& view);
std::string history_page(const Frame& frame, const HistoryView& view);
std::string performance_page(const Frame& frame, const PerformanceView& view);
std::string drills_page(const Frame& frame, const DrillsView& view);
std::string login_page(const LoginView& view);

/// One window as an element with the identifier "window-TANK", also for the event stream.
/// @param leads false: without a link, for a wall.
Html window_part(const PanelWindow& window, bool leads = true);
/// What is wrong, in words, and the running outages, as an element with the identifier "news".
/// `frame` decides whether acknowledging is offered.
Html news_part(const Frame& frame, const PanelView& view);

/// Both clocks small, for a window of the panel.
Html small_clocks(const ClocksView& view);
/// Both clocks with their condition, and what they assume one click away; empty without faces.
/// @param name of the tank.
Html clocks_part(const ClocksView& view, const std::string& name);

/// The page around `main`.
std::string in_frame(const Frame& frame, const std::string& title, const Html& main);
Html moment_part(const Moment& moment);
/// Text with its line ends, each line escaped.
Html lines_part(const std::string& text);

/// The forms of people who may act; each is empty for those who may not.
/// Takes an outage on. @param sites that it touches.
Html acknowledge_form(const Frame& frame, const std::string& outage, const std::string& name,
                      const std::vector<std::string>& sites);
/// Notes, and whether the loss was true.
Html outage_forms(const Frame& frame, const OutageView& view);
/// What of the site is put away, for everybody; shelving and drills for those who may.
Html put_away_part(const Frame& frame, const SiteView& view);
Html drill_form(const Frame& frame, const SiteView& view);
/// The token that every form carries.
Html token_field(const Frame& frame);
/// The choices of a list, one of them chosen.
Html options_part(const std::vector<Choice>& choices, const std::string& chosen);

}  // namespace ebbwatch

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
std::string login_page(const LoginView& view);

/// One window as an element with the identifier "window-TANK", also for the event stream.
Html window_part(const PanelWindow& window);
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
/// The form that takes an outage on; empty when the role may not.
Html acknowledge_form(const Frame& frame, const std::string& outage, const std::string& name);

}  // namespace ebbwatch

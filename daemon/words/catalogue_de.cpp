// The catalogue in German.
// {who} stands after "mit" and is in the dative. People are addressed as Sie.
#include "words/catalogue_tables.h"

namespace ebbwatch {
namespace {

using enum Phrase;
constexpr PhraseTable table{{
    // Times of day.
    {months, "Jan. Feb. März Apr. Mai Juni Juli Aug. Sept. Okt. Nov. Dez."},
    {hour_minute, "{clock}"},
    {hour_minute_of_one, "{clock}"},
    {time_today, "{clock}"},
    {time_dated, "{day}. {month} {clock}"},
    {at_today, "um {hour}"},
    {at_dated, "am {day}. {month} um {hour}"},
    {since_today, "seit {hour}"},
    {since_dated, "seit {day}. {month}, {hour}"},
    {from_today, "von {hour}"},
    {from_dated, "vom {day}. {month}, {hour},"},
    {to_today, "bis {hour}"},
    {to_dated, "bis {day}. {month}, {hour}"},
    {until_today, "bis {hour}"},
    {until_dated, "bis {day}. {month}, {hour}"},
    {decimal_point, ","},
    // How sure, and of what.
    {almost_certainly, "fast sicher"},
    {very_probably, "sehr wahrscheinlich"},
    {probably, "wahrscheinlich"},
    {possibly, "möglicherweise"},
    {almost_certainly_brief, "fast sicher"},
    {very_probably_brief, "ziemlich sicher"},
    {probably_brief, "wahrscheinlich"},
    {possibly_brief, "vielleicht"},
    {sure_sentence, "{sure} {what} (etwa {number} von 100)."},
    {sure_words, "{sure} {what}"},
    {cause_not_known_yet,
     "Noch nicht bekannt. Es kann am Strom, an der Internetverbindung oder an der Steuerung selbst "
     "liegen."},
    {cause_not_found, "Die Ursache wurde nicht gefunden."},
    {mains_is_off, "ist der Strom ausgefallen"},
    {mains_was_off, "war der Strom ausgefallen"},
    {mains_power, "die Stromversorgung"},
    {mains_words, "Stromausfall"},
    {internet_is_down, "ist die Internetverbindung unterbrochen"},
    {internet_was_down, "war die Internetverbindung unterbrochen"},
    {internet_link, "die Internetverbindung"},
    {internet_words, "Internetausfall"},
    {controller_has_stopped, "ist die Steuerung stehen geblieben"},
    {controller_had_stopped, "war die Steuerung stehen geblieben"},
    {controller_itself, "die Steuerung selbst"},
    {controller_words, "Steuerung ausgefallen"},
    {own_link_is_down, "ist die eigene Verbindung des Wächters unterbrochen"},
    {own_link_was_down, "war die eigene Verbindung des Wächters unterbrochen"},
    {own_link, "die eigene Verbindung des Wächters"},
    {own_link_words, "Verbindung des Wächters"},
    // Who and where: in a sentence after "contact with", and as a heading.
    {who_site, "dem ganzen Standort {name}"},
    {who_watcher, "dem Wächter {name}"},
    {who_area, "dem ganzen Gebiet {name}"},
    {who_provider, "allen Standorten am Anbieter {name}"},
    {who_controller, "{name} von {place}"},
    {who_tank, "{name} ({place})"},
    {heading_site, "{name} (ganzer Standort)"},
    {heading_watcher, "Wächter {name}"},
    {heading_area, "Gebiet {name}"},
    {heading_provider, "Anbieter {name}"},
    // The news in a few words, after the name.
    {no_contact, "kein Kontakt {since}"},
    {still_no_contact, "weiter kein Kontakt {since}"},
    {contact_is_back, "Kontakt wieder da {when}"},
    {contact_is_back_brief, "Kontakt wieder da {when}"},
    {was_lost_is_back, "war weg, Kontakt wieder da {when}"},
    {was_lost_is_back_brief, "war weg, wieder da {when}"},
    {after_span, "nach {span}"},
    {was_not_watching, "hat {since} nicht gewacht"},
    {was_not_watching_for, "hat {span} lang nicht gewacht"},
    {comes_and_goes, "Kontakt kommt und geht {since}"},
    {steady_again, "Kontakt wieder stabil {since}"},
    {has_taken_it_on, "{name} hat es übernommen"},
    {notice_did_not_arrive, "eine Meldung kam nicht an"},
    {cannot_store, "kann {since} nichts speichern"},
    {can_store_again, "kann wieder speichern"},
    {now_cause, "jetzt {cause}"},
    {drill_before, "ÜBUNG: "},
    // The first sentence of a mail.
    {opening_loss, "Kein Kontakt mit {who} {since}, bisher {span}."},
    {opening_still_lost, "Weiterhin kein Kontakt mit {who} {since}, bisher {span}."},
    {opening_back, "Der Kontakt mit {who} ist {since} wieder da."},
    {it_was_gone, "Er war {span} lang weg."},
    {it_was_gone_between, "Er war {span} lang weg, {from} {to}."},
    {opening_gap, "Der Wächter {watcher} hat {from} {to} nicht gewacht."},
    {opening_gap_span, "Der Wächter {watcher} hat {from} {to} nicht gewacht, {span} lang."},
    {opening_unsteady,
     "Der Kontakt mit {who} kommt und geht {since}. Weitere kurze Ausfälle werden gezählt, aber "
     "nicht einzeln gemeldet; ein langer schon."},
    {opening_steady, "Der Kontakt mit {who} ist {since} wieder stabil."},
    // Why it comes now.
    {why_later_step, "Bisher hat es niemand übernommen, darum kommt es jetzt zu Ihnen."},
    {why_not_away_any_more,
     "Es war zurückgestellt; das ist vorbei, und der Kontakt fehlt immer noch."},
    {why_ran_out,
     "{name} hatte es übernommen, doch das ist abgelaufen und der Kontakt fehlt immer noch. Die "
     "Anrufliste beginnt von vorn."},
    {why_ran_out_since,
     "{name} hatte es {at} übernommen, doch das ist abgelaufen und der Kontakt fehlt immer noch. "
     "Die Anrufliste beginnt von vorn."},
    {why_reminder,
     "Noch hat es niemand übernommen. Sie haben schon eine Meldung bekommen und bekommen sie "
     "erneut."},
    {why_combined,
     "Die Meldung des Ausfalls hat Sie vielleicht nicht rechtzeitig erreicht; diese gilt für "
     "beides."},
    {why_combined_since,
     "Die Meldung des Ausfalls {at} hat Sie vielleicht nicht rechtzeitig erreicht; diese gilt für "
     "beides."},
    {why_revised, "Das ist Neues von einem Ausfall, der Ihnen schon gemeldet wurde, kein neuer."},
    {why_late, "Bemerkt wurde das {at}; gesendet werden konnte es erst jetzt, {now}."},
    {this_is_a_drill,
     "Das ist eine ÜBUNG. Es ist nichts passiert; sie zeigt nur, dass eine Meldung Sie erreicht. "
     "Was folgt, ist erfunden."},
    {to_take_it_on, "Um es zu übernehmen:"},
    {to_confirm, "Um zu bestätigen, dass dies ankam:"},
    {or_reply, "oder auf die SMS antworten mit: OK {code}"},
    // The parts of a mail.
    {title_cause, "Ursache:"},
    {title_cause_now, "Ursache, nach jetzigem Stand:"},
    {title_known, "Bekannt:"},
    {title_sites, "Standorte dort:"},
    {title_not_known, "Nicht bekannt:"},
    {title_last_reading, "Letzter Messwert, {time}:"},
    {title_time_left, "Falls der Strom {since} weg ist (geschätzt, von da an gerechnet):"},
    {title_check_first, "Zuerst prüfen:"},
    {title_still_to_do, "Noch zu tun:"},
    {title_meaning, "Was das heißt:"},
    {take_care,
     "Vorsicht: Trockene Hände, auf Tropfschlaufen achten und die Sicherung ausschalten, bevor Sie "
     "bei beschädigten Geräten ins Wasser greifen."},
    {not_known_part,
     "Andere Steuerungen desselben Beckens melden sich noch. Ob Fühler und Steckdosen dieser einen "
     "noch arbeiten, weiß niemand."},
    {not_known_link,
     "Wie es den Tieren geht. Fehlt nur die Verbindung, laufen die Geräte vermutlich weiter."},
    {not_known_group,
     "Wie es den Tieren geht, und ob Pumpen und Heizer noch laufen. Stille heißt, dass keine "
     "Nachricht kommt; einen Schaden hat niemand gesehen."},
    {not_known_tank,
     "Wie es dem Becken geht, und ob Pumpen und Heizer noch laufen. Stille heißt, dass keine "
     "Nachricht kommt; einen Schaden hat niemand gesehen."},
    {check_mains,
     "Brennt Licht im Haus oder in der Straße? Rufen Sie dort jemanden an. Ist nur dieser "
     "Stromkreis aus, sehen Sie nach den Sicherungen; stehen die Pumpen, bringen Sie zuerst Luft "
     "ins Wasser."},
    {check_internet,
     "Rufen Sie dort jemanden an und fragen Sie, ob die Pumpen laufen. Dann den Router neu "
     "starten."},
    {check_controller,
     "Laufen Pumpen und Heizer? Sehen Sie dann nach der Steuerung: Stecker, Netzteil, "
     "Netzwerklampe."},
    {check_own_link, "Die Internetverbindung dort, wo der Wächter {watcher} steht."},
    {check_unknown,
     "Rufen Sie dort jemanden an: Ist Strom da, laufen die Pumpen? Kann niemand nachsehen, fahren "
     "Sie hin. Zuerst zählen Bewegung und Luft im Wasser, dann die Temperatur."},
    {check_unsteady,
     "Funkstrecke oder Kabel zwischen Steuerung und Router, lose Stecker und den Router selbst. "
     "Heute Nacht eilt es nicht."},
    {look_after_cut,
     "Nach einem Stromausfall laufen manche Geräte nicht von selbst wieder an. Sehen Sie nach "
     "Pumpen, Heizer, Licht und Abschäumer und nach der Temperatur."},
    {look_after_return,
     "Die Steuerung meldet sich wieder; nach dem Becken hat noch niemand gesehen. Sehen Sie bei "
     "Gelegenheit nach Pumpen und Temperatur."},
    {gap_meaning,
     "In dieser Zeit hätte niemand von einem stummen Becken erfahren. Deswegen wird kein Becken "
     "als Ausfall gemeldet; bleibt eines von jetzt an stumm, kommt die Meldung wie üblich."},
    {gap_check,
     "Strom und Internet dort, wo der Wächter steht, und ob sein Rechner von selbst schläft oder "
     "neu startet."},
    {closing_outage,
     "Ausfall {outage}, gesehen vom Wächter {watcher} {at}. ebbwatch hilft, etwas zu bemerken; es "
     "ist keine Sicherheitsanlage für Leib und Leben."},
    {closing,
     "Gesehen vom Wächter {watcher} {at}. ebbwatch hilft, etwas zu bemerken; es ist keine "
     "Sicherheitsanlage für Leib und Leben."},
    // Mails that tell no decision.
    {taken_on, "{name} hat es übernommen: kein Kontakt mit {who} {since}."},
    {nothing_to_do, "Sie müssen nichts tun."},
    {nothing_to_do_until,
     "Sie müssen nichts tun. Fehlt der Kontakt {at} immer noch und hat es bis dahin niemand neu "
     "übernommen, beginnt die Anrufliste von vorn."},
    {undelivered,
     "Eine Meldung über den fehlenden Kontakt mit {who} {since} kam nicht an: {what}."},
    {unreached, "{name} über {way}"},
    {unreached_answer, "{name} über {way}, Antwort: {answer}"},
    {undelivered_then,
     "Bisher hat es niemand übernommen. Wenn Sie auf diese Person zählen, rufen Sie sie selbst "
     "an."},
    {store_failing,
     "Der Wächter {watcher} kann {since} nicht speichern, was er entscheidet: {why}"},
    {store_failing_meaning,
     "Er wacht weiter, und Meldungen gehen hinaus wie üblich. Bleibt aber sein Rechner stehen, "
     "bevor das behoben ist, ist alles Ungespeicherte vergessen: Meldungen können dann doppelt "
     "kommen oder fehlen."},
    {store_failing_check,
     "Ist die Festplatte im Rechner des Wächters voll, schreibgeschützt oder verschlissen? Nicht "
     "neu starten, bevor wieder Platz ist."},
    {store_working,
     "Der Wächter {watcher} kann {since} wieder speichern, was er entscheidet. Nichts davon ging "
     "verloren."},
    // Short texts for phones: whole sentences that are left out one by one where room ends.
    {short_drill, "ÜBUNG, alles ist gut."},
    {short_reply, "Antwort OK {code}."},
    {short_no_new_outage, "Kein neuer Ausfall."},
    {short_last, "Zuletzt {time}: {values}."},
    {short_first, "Zuerst: {what}"},
    {short_care, "Erst Sicherung aus, Hände trocken."},
    {short_no_need_to_go, "Niemand muss hin."},
    {short_cause, "Ursache: {cause}."},
    {short_cause_not_found, "Ursache: nicht gefunden."},
    {short_look, "Bei Gelegenheit nach Pumpen und Heizer sehen."},
    {short_gap, "{from} bis {to}."},
    {short_gap_meaning, "Kein Becken gilt deswegen als Ausfall."},
    {short_gap_check, "Strom und Internet dort prüfen."},
    {short_unsteady, "Kurze Ausfälle werden nicht einzeln gemeldet; ein langer schon."},
    {short_unsteady_check, "Stecker, Funk und Router prüfen. Heute Nacht eilt es nicht."},
    {short_nobody_yet, "Noch hat es niemand."},
    {short_had_it, "Nicht mehr bei {name}."},
    {short_taken_on, "kein Kontakt {since}. {name} hat es übernommen. Sie müssen nichts tun."},
    {short_undelivered, "kein Kontakt {since}. Nicht erreicht: {what}"},
    {short_store_failing,
     "kann {since} nichts speichern. Er wacht und meldet weiter. Festplatte prüfen; nicht neu "
     "starten."},
    {short_store_working, "kann {since} wieder speichern. Nichts ging verloren."},
    // Readings.
    {reading_water, "Wasser {value} °C"},
    {reading_room, "Raum {value} °C"},
    {reading_ph, "pH {value}"},
    {reading_salinity, "Salzgehalt {value} ppt"},
    {reading_orp, "Redox {value} mV"},
    {reading_oxygen, "Sauerstoff {value} mg/l"},
    {reading_watts, "{name} {value} W"},
    {reading_other, "{name} {value}"},
    // What speaks for a decision.
    {last_heard, "{name} wurde zuletzt {at} gehört."},
    {still_heard, "{name} ist noch zu hören, zuletzt {at}."},
    {controller_named, "Steuerung {name}"},
    {battery_controller_named, "batteriegestützte Steuerung {name}"},
    {reported_mains_off, "Die {controller} meldete {at} Stromausfall."},
    {reported_mains_off_still_heard,
     "Die {controller} meldete {at} Stromausfall und ist weiter zu hören."},
    {reported_mains_on, "Die {controller} meldete {at}, dass Strom da ist."},
    {only_controller_silent, "Die Steuerung von {name} ist stumm."},
    {all_controllers_silent, "Alle {count} Steuerungen von {name} sind zugleich verstummt."},
    {nothing_on_mains_heard, "Was bei {name} am Netzstrom hängt, ist nicht mehr zu hören."},
    {only_tank_silent, "Bei {name} ist alles ohne Kontakt."},
    {tanks_silent,
     "Bei {name} ohne Kontakt seit demselben Augenblick: {count} von {total} Becken."},
    {sites_silent, "Innerhalb von {span} verstummt: {count} von {total} Standorten von {name}."},
    {other_heard, "1 andere Steuerung ist noch zu hören."},
    {others_heard, "{count} andere Steuerungen sind noch zu hören."},
    {started_anew, "{name} war neu gestartet."},
    {started_anew_before, "{name} war {span} vor der ersten Nachricht neu gestartet."},
    {kept_running, "{name} lief während der ganzen Stille weiter."},
    {sent_one_unheard, "{name} sendete währenddessen 1 Lebenszeichen, das nicht ankam."},
    {sent_many_unheard, "{name} sendete währenddessen {count} Lebenszeichen, die nicht ankamen."},
    {sent_nothing, "{name} sendete währenddessen nichts."},
    {one_stored_arrived,
     "1 gespeichertes Lebenszeichen von {name} aus der Zeit der Stille kam an."},
    {many_stored_arrived,
     "{count} gespeicherte Lebenszeichen von {name} aus der Zeit der Stille kamen an."},
    {own_link_failed, "Die eigene Verbindung dieses Wächters war {span} lang gestört."},
    {watcher_stopped, "Dieser Wächter lief {from} an {span} lang nicht."},
    {witness_silent_too, "Auch {count} von 1 Zeugen hört nichts."},
    {witnesses_silent_too, "Auch {count} von {total} Zeugen hören nichts."},
    {witness_hears, "{count} von 1 Zeugen hört es noch."},
    {witnesses_hear, "{count} von {total} Zeugen hören es noch."},
    {lost_contact_once,
     "{name} verlor in letzter Zeit etwa 1-mal den Kontakt; kurze Ausfälle werden zurückgehalten."},
    {lost_contact_often,
     "{name} verlor in letzter Zeit etwa {count}-mal den Kontakt; kurze Ausfälle werden "
     "zurückgehalten."},
    {was_shelved, "{name} war {until} zurückgestellt; immer noch stumm, und zwar {since}."},
    {was_out_of_service, "{name} war {until} außer Betrieb; immer noch stumm, und zwar {since}."},
    {often_lost,
     "Auf {name} wurde {span} länger gewartet als eingestellt: etwa {count} von 100 Lebenszeichen "
     "gehen unterwegs verloren."},
    {announced_stop,
     "{name} hatte eine Pause von {span} angekündigt und sollte {since} zurück sein."},
    // How long a tank has.
    {water_below, "unter {value} °C"},
    {water_above, "über {value} °C"},
    {oxygen_below, "Sauerstoff unter {value} mg/l"},
    {clock_not_expected, "{limit}: nicht zu erwarten"},
    {clock_already, "{limit}: schon jetzt"},
    {clock_by_now, "{limit}: wohl inzwischen"},
    {clock_perhaps_by_now, "{limit}: vielleicht schon, oder gar nicht"},
    {clock_at_the_latest, "{limit}: vielleicht schon, spätestens in {hours}"},
    {clock_or_later, "{limit}: in {hours} oder später, oder gar nicht"},
    {clock_within, "{limit}: in {hours}"},
    {clock_of_tank, "{name}: {clocks}"},
    {hours_from_to, "{low} bis {high}"},
    {one_hour, "1 Stunde"},
    {many_hours, "{number} Stunden"},
    {under_an_hour, "weniger als einer Stunde"},
    {over_a_day, "mehr als einem Tag"},
    {hours_never, "nie"},
}};
static_assert(in_order(table));

}  // namespace

const PhraseTable& german_phrases() {
  return table;
}

}  // namespace ebbwatch

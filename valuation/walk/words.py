"""The words of the client's own buttons and sentences, in every language; those of checks come with the visit."""

from __future__ import annotations

from valuation.language import LANGUAGES, later, say, speaking

WORDS = {
    "at_the_piano": later("At the piano"),
    "invented": later("Invented demo data"),
    "settings": later("Settings"),
    "stop": later("STOP"),
    "careful": later("Careful"),
    "have_read": later("I have read it"),
    "bar": later("Where you are"),
    "back": later("Back"),
    "undo": later("Undo"),
    "next_open": later("Next open"),
    "n_of_n": later("{n} of {all}"),
    "made": later("{n} of {all} made"),
    "sending": later("sending {count}"),
    "on_this_device": later("{count} on this device, not sent yet"),
    "on_device_all": later("no network; all is sent"),
    "all_sent": later("sent"),
    "link_over": later("Link is over: {count} kept here"),
    "closed_missing": later("No visit is on this device yet."),
    "closed_no_network": later("The server can't be reached, and this visit is not on this device yet."),
    "closed_unknown": later("This link is not known here."),
    "closed_revoked": later("This link was ended."),
    "closed_expired": later("This link is over."),
    "closed_no_kind": later("Say first, on the page, whether it is an upright or a grand."),
    "closed_store": later("The store of visits can't be opened just now; try again."),
    "closed_full": later(
        "The device's storage is full: this visit can't be put on it. Make room and follow the link again."
    ),
    "closed_how": later("Open the visit on the page 'Inspect' and follow its link or its code from there."),
    "go_quick": later("Quick look: {n} left, about {minutes} min"),
    "go_needed": later("Needed before a verdict: {n} left, about {minutes} min"),
    "go_all": later("Go on with the walk: {n} left"),
    "by_opening": later("By opening"),
    "by_part": later("By part"),
    "quick_look": later("Quick look"),
    "what_i_saw": later("What I saw"),
    "left": later("{n} of {all} left, {minutes} min"),
    "all_made": later("all {n} made"),
    "begin_here": later("Begin here"),
    "cannot_see": later("Can't be seen"),
    "not_looked": later("not looked at"),
    "skip": later("Skip"),
    "why": later("Why"),
    "why_and_with": later("Why · With:"),
    "which_section": later("Which section?"),
    "how_many": later("How many?"),
    "not_counted": later("Go on without"),
    "go_on": later("Go on"),
    "bass": later("Bass"),
    "tenor": later("Tenor"),
    "treble": later("Treble"),
    "any": later("Anywhere"),
    "reading_n": later("No. {n}"),
    "pin_at": later("key {key} ({name}), string {string}"),
    "readings": later("Readings so far"),
    "readings_in_all": later("({n} in all)"),
    "take_out": later("Take out {value}"),
    "delete": later("Delete"),
    "felt_soft": later("It felt soft"),
    "enough": later("Enough: go on"),
    "next_reading": later("Next reading"),
    "take": later("Take it"),
    "scale": later("How it reads"),
    "none": later("good"),
    "slight": later("slight"),
    "marked": later("marked"),
    "severe": later("severe"),
    "out_of_bounds": later("Not taken: between {low} and {high} {unit}."),
    "pieces": later("{n} pieces"),
    "record": later("Sound"),
    "record_note": later("Record {name}: {n} seconds"),
    "how_to_record": later(
        "Lay the device on something soft, about a metre away. A second of quiet, then one firm strike; hold the key, "
        "no pedal. Sound is read once there is a network."
    ),
    "note_before": later("The note before"),
    "note_after": later("The next note"),
    "quiet": later("Quiet …"),
    "strike": later("Strike {name} and hold it"),
    "hold": later("Hold it: {n} s"),
    "break_off": later("Break off"),
    "filtered": later("This browser filters the sound; it may not be readable."),
    "no_sound": later("Not recorded: {why}."),
    "mic_not_allowed": later("the browser does not let this page use the microphone; allow it in its settings"),
    "mic_not_there": later("the device has no microphone"),
    "mic_needs_https": later(
        "This browser gives the microphone only to a page that is reached by https. Read the strings by hand, or "
        "record with an app and put the files in on the page 'Measurements'."
    ),
    "photo": later("Photo"),
    "from_gallery": later("From files"),
    "photos_n": later("Photos: {n}"),
    "photo_n_of": later("Photo {n} of: {name}"),
    "take_away": later("Take away"),
    "sent": later("sent"),
    "waiting": later("on this device"),
    "no_photo": later("This photo can't be taken: {why}."),
    "note": later("Add a note"),
    "note_there": later("Note is there"),
    "note_on": later(
        "Note: type, or use the microphone of your keyboard. It goes to the shop; the client may read it."
    ),
    "done": later("Done"),
    "clash": later("Two devices say different things. Which one counts?"),
    "refused": later("Not taken by the shop's tables"),
    "review": later("What I saw, and what I did not see"),
    "review_sums": later("{made} seen, {hidden} can't be seen, {not} not looked at; photos: {photos}."),
    "still_needed": later("Still needed before a verdict"),
    "enough_for_verdict": later("Enough was seen for a verdict. What was not looked at is not known to be good."),
    "keep_open": later("Keep this page open until all is sent: {count} are still on this device only."),
    "to_verdict": later("To the verdict"),
    "language": later("Language"),
    "units": later("Units"),
    "metric": later("mm and N·m"),
    "imperial": later("inches and in-lb"),
    "look": later("Look"),
    "auto": later("As the device"),
    "light": later("Light"),
    "dark": later("Dark"),
    "without_network": later("Without a network"),
    "offline_ready": later("This page is on the device: it opens and works without a network."),
    "offline_open_only": later(
        "Keep this page open: it works without a network, but can't be opened without one, since the server is not "
        "reached by https. What you enter is kept on this device."
    ),
    "offline_soon": later("The page is still being put on this device."),
    "entering_as": later("Entered as {name}."),
    "other_visits": later("Other visits on this device"),
    "not_kept": later("NOT KEPT: {why}. What you entered last is not on this device; make room and enter it again."),
    "device_full": later("the device's storage is full"),
    "written_back": later("The browser had thrown its store away; what this page still held was written back."),
}
"""Names by which the client asks for its words."""


def client_words() -> dict[str, dict[str, str]]:
    """Return all words by language, each language with its own name."""
    told = {}
    for language, own_name in LANGUAGES.items():
        with speaking(language):
            told[language] = {"own_name": own_name} | {key: say(text) for key, text in WORDS.items()}
    return told

"""What is said of the record as a file."""

from __future__ import annotations

WRONG = {
    "file": "The file is damaged: {where}.",
    "tie": "A row points to one that is not there: {where}.",
    "source": "An order sheet or the steps of a dose were changed after they were kept: {where}.",
    "chain": "The chain breaks at dose and event {where}: it was changed after it was kept.",
}
"""What can be wrong with the file, by its name."""
CANNOT_BE_FOLLOWED = "The dose due {due} cannot be followed on its own steps."
ENDED_OTHERWISE = "The dose due {due} ends in another way than the record says."
ALL_HOLDS = "Looked at {doses} and {events}. All of it holds."
ONE_DOSE, DOSES = "1 dose", "{number:,} doses"
ONE_EVENT, EVENTS = "1 event", "{number:,} events"
SUMS_DIFFER = (
    "Only the sums of your supplies were not what the record comes to. They are worked out again "
    "now, and nothing of the record is lost. Look at your supplies once more."
)
COPIED = "The record was copied to {path}, and the copy was looked through."
BROUGHT_BACK = "The record was brought back from {path}."
NEWER_THERE = (
    "The record {path} is newer, so nothing was changed. To put this one in its place all the "
    "same, add --replace."
)
OTHER_SHEET = (
    "The record {path} is of the order sheet “{its}”, and the order sheet here is “{ours}”. So "
    "nothing was changed. It may be another person's. To go on all the same, add --replace."
)
NO_COPY_THERE = (
    "The file {path} is no copy of a record that can be read. It was left as it is. Give the copy "
    "another name."
)
SET_ASIDE = {
    "damaged": (
        "The record that was here is damaged. It was not removed: it is now called {path}. Keep "
        "that file, and call your nurse before the next dose."
    ),
    "other-version": (
        "The file that was here was not written by this version of the coach. It was not removed: "
        "it is now called {path}."
    ),
}
"""What is said of a record that was set aside, by what it is called now."""
LATER_DOSES = "What was kept after the copy was made is not in the record now."
REPLACE_IT = "To put the copy in its place all the same, add --replace."
COPY_IS_WRONG = "The copy does not hold, so nothing was changed. Check the record first."
COPY_DAMAGED = (
    "The copy {path} is damaged, so it was not brought back. The record here was left as it is. "
    "Use an older copy, if there is one. If not, call those who look after the coach."
)
COPY_STRANGE = (
    "The file {path} is no copy that this version of the coach can read, so it was not brought "
    "back. The record here was left as it is."
)
COPY_UNREAD = (
    "The copy {path} cannot be read, or there is no room to look through it. The record here was "
    "left as it is."
)
NO_COPY = "There is no copy at {path}."
NOT_WRITTEN = "The file {path} cannot be written, so nothing was changed."
STAYS = "The file {path} could not be removed. Check who may write in its folder."
WENT = "Removed: {path}, {size} bytes."
NOTHING_THERE = "There was nothing to remove."
FORGET_ASKS = "To remove every record here, type the name as on the order sheet, {initials}:"
FORGET_DAMAGED = (
    "The record {path} is damaged, so nothing was removed: it may be all that is left of the "
    "doses. Keep it, and call your nurse before the next dose. Once nobody needs it any more, "
    "there are two ways. Bring a copy back with coach records restore, then do this again. Or "
    "remove that file by hand, then do this again for the rest."
)
FORGET_NOT = "That is not the name on the order sheet. Nothing was removed."
SHEET_STAYS = "The order sheet {path} and any copies you made are still there."
NAME_THE_COPY = "Name the file of the copy: coach records {what} FILE."
TAKES_NO_FILE = (
    "The command coach records {what} takes no file, so nothing was done. For a record that lies "
    "in another place, add --journal and its file."
)
REPLACES_NOTHING = "The command coach records {what} replaces nothing. Leave out --replace."
KEEP_IT = "Keep the file as it is, and call your nurse before the next dose."

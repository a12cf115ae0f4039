"""Who may open what, written down a second time: a slip beside an address does not pass unseen."""

from upsides.books.models import Role

STAFF = frozenset(Role) - {Role.OWNER}
OFFICE = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY})
OPINION = {
    "morning": frozenset(Role),
    "lots": STAFF,
    "evening": frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON}),
    "string": frozenset(Role),
    "horse": frozenset(Role),
    "horse_new": OFFICE,
    "horse_change": OFFICE,
    "horse_about": OFFICE,
    "horse_line_new": OFFICE,
    "horse_box": OFFICE | {Role.HEAD_PERSON},
    "boxes": STAFF,
    "boxes_new": OFFICE,
    "horse_pedigree": frozenset(Role),
    "horse_trip": frozenset(Role),
    "horse_condition": frozenset(Role),
    "look_at": OFFICE | {Role.HEAD_PERSON},
    "look_at_sheet": OFFICE | {Role.HEAD_PERSON},
    "calls": OFFICE | {Role.HEAD_PERSON},
    "call_scores": OFFICE | {Role.HEAD_PERSON},
    "horse_call": OFFICE | {Role.HEAD_PERSON},
    "gene_tests": OFFICE | {Role.VET},
    "race": frozenset(Role),
    "me": frozenset(Role),
    "diary": STAFF,
    "checks": STAFF,
    "clock": frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON}),
    "clock_works": frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON}),
    "feed_board": STAFF,
    "feed_board_pdf": STAFF,
    "ration": STAFF,
    "feed_several": OFFICE | {Role.HEAD_PERSON},
    "feed_store": OFFICE | {Role.HEAD_PERSON},
    "feed": OFFICE | {Role.HEAD_PERSON},
    "feed_batch": OFFICE | {Role.HEAD_PERSON},
    "shape": STAFF,
    "shape_score": STAFF,
    "medicines": OFFICE | {Role.VET, Role.HEAD_PERSON},
    "medicine_register_pdf": OFFICE | {Role.VET, Role.HEAD_PERSON},
    "medicines_of_horse": OFFICE | {Role.VET, Role.HEAD_PERSON},
    "contacts": OFFICE | {Role.VET, Role.HEAD_PERSON},
    "due": OFFICE | {Role.VET, Role.HEAD_PERSON},
    "isolation": OFFICE | {Role.VET, Role.HEAD_PERSON},
    "legs": STAFF,
    "bloods": STAFF,
    "pictures": frozenset(Role),
    "sales": OFFICE | {Role.VET, Role.HEAD_PERSON},
    "sale": OFFICE | {Role.VET, Role.HEAD_PERSON},
    "lot": OFFICE | {Role.VET, Role.HEAD_PERSON},
    "people": OFFICE,
    "person": OFFICE,
    "person_erase": frozenset({Role.TRAINER, Role.SECRETARY}),
    "staff": OFFICE | {Role.HEAD_PERSON},
    "staff_week": STAFF - {Role.VET},
    "staff_person": OFFICE | {Role.HEAD_PERSON},
    "staff_hours": OFFICE,
    "yard": OFFICE | {Role.HEAD_PERSON},
    "yard_change": OFFICE | {Role.HEAD_PERSON},
    "recordings": STAFF,
    "recording": STAFF,
    "recording_gallop": frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON}),
    "tracker": frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON}),
    "upload_keys": frozenset({Role.TRAINER, Role.ASSISTANT}),
    "gallop_works": STAFF,
    "horse_works": STAFF,
    "heat": STAFF,
    "looked": frozenset({Role.TRAINER}),
    "tables": OFFICE,
    "table_new": OFFICE,
    "table": OFFICE,
    "jobs": OFFICE,
    "job": OFFICE,
    "barn_phones": frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON}),
    "account_change_password": frozenset(Role),
    "mfa_index": frozenset(Role),
    "usersessions_list": frozenset(Role),
}
"""Who may open the main pages, written down a second time: a slip beside an address does not pass unseen."""

AT_THE_DOOR = {
    *("account_login", "account_logout", "account_inactive", "come_in", "mfa_authenticate"),
    *("account_reset_password", "account_reset_password_done", "account_reset_password_from_key"),
    *("barn", "barn_pin", "hand_over"),
    *("diary_send", "diary_no_signal", "diary_script", "service_worker", "manifest"),
    *("diary_shell", "checks_shell", "clock_shell"),
    "recordings_send",
}
"""All that somebody who has not signed in may open: the door, the barn phone's door, and what a phone keeps."""

TOKENLESS = {"diary_send", "recordings_send"}
"""What may be sent without a page's token: entries from phones and recordings from devices, each with a mark of its
own."""

KEPT = {"diary_shell", "checks_shell", "clock_shell", "diary_no_signal", "diary_script", "service_worker", "manifest"}
"""What phones keep for want of signal; nothing of anybody is in it."""

"""Every table of the schema."""

from .care import Alert, AlertEvent, ContactNote, Notice, NoticeTry, Visit, VisitEvent
from .clinic import (
    AlertSetting,
    Audit,
    Clinic,
    ClinicHours,
    ClinicSetting,
    ClosingDay,
    Cover,
    Duty,
    LanguageStep,
    Number,
    Staff,
    StaffMark,
    StaffSession,
    StaffSubscription,
    Task,
)
from .course import (
    Course,
    CourseEvent,
    CourseFact,
    HoldEnd,
    HoldRow,
    Release,
    Repair,
    Revision,
    SignedText,
    Template,
    TemplateApproval,
)
from .derived import CaseloadLine, DaySummaryRow, Touch
from .logged import BoutRow, DailyCheck, PhoneItem, TroubleReport
from .people import (
    Consent,
    Contact,
    Identifier,
    Patient,
    Quiet,
    Understanding,
    WakingHours,
    ZoneStay,
)
from .phone import ContactMarkRow, Device, Pairing, Subscription
from .prompts import Prompt, PromptEvent, PromptSend, PromptSlot

__all__ = [
    "Alert", "AlertEvent", "AlertSetting", "Audit", "BoutRow", "CaseloadLine", "Clinic",
    "ClinicHours", "ClinicSetting", "ClosingDay", "Consent", "Contact", "ContactMarkRow",
    "ContactNote", "Course", "CourseEvent", "CourseFact", "Cover", "DailyCheck", "DaySummaryRow",
    "Device", "Duty", "HoldEnd", "HoldRow", "Identifier", "LanguageStep", "Notice", "NoticeTry",
    "Number", "Pairing", "Patient", "PhoneItem", "Prompt", "PromptEvent", "PromptSend",
    "PromptSlot", "Quiet", "Release", "Repair", "Revision", "SignedText", "Staff", "StaffMark",
    "StaffSession", "StaffSubscription", "Subscription", "Task", "Template", "TemplateApproval",
    "Touch", "TroubleReport", "Understanding", "Visit", "VisitEvent", "WakingHours", "ZoneStay",
]  # fmt: skip

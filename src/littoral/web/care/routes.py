"""Every address of care at the bench."""

from __future__ import annotations

from littoral.web.care.api import API_ROUTES
from littoral.web.care.entries_pages import ENTRIES_ROUTES
from littoral.web.care.entry_pages import ENTRY_ROUTES
from littoral.web.care.files import FILE_ROUTES
from littoral.web.care.today_page import TODAY_ROUTES

CARE_ROUTES = (*TODAY_ROUTES, *ENTRY_ROUTES, *ENTRIES_ROUTES, *FILE_ROUTES, *API_ROUTES)

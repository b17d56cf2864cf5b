"""Every address of the site. A test lists each with who may fetch it (tests/web/test_routes.py)."""

from django.contrib import admin
from django.contrib.auth.decorators import login_not_required
from django.urls import path
from django.views.generic import RedirectView

from register.web import (
    accounts,
    changes,
    checking,
    compare,
    exports,
    fleet,
    imports,
    part_mass,
    parts,
    public,
    records,
    search,
    sources,
    statements,
    survey,
    survival,
    timeline,
    vehicles,
)

urlpatterns = [
    path("", fleet.fleet, name="fleet"),
    path("search/", search.search_page, name="search"),
    path("vehicles/<str:key>/", vehicles.vehicle, name="vehicle"),
    path("vehicles/<str:key>/figures/", vehicles.computed, name="computed"),
    path("vehicles/<str:key>/timeline/", timeline.timeline, name="timeline"),
    path("vehicles/<str:key>/survival/", survival.survival, name="survival"),
    path("vehicles/<str:key>/find-out/", survey.find_out, name="find-out"),
    path("vehicles/<str:key>/compare/", compare.days, name="compare-days"),
    path("side-by-side/", compare.vehicles, name="compare-vehicles"),
    path("vehicles/<str:key>/statement.pdf", statements.draft, name="draft-statement"),
    path("vehicles/<str:key>/issue/", statements.issue, name="issue-statement"),
    path("vehicles/<str:key>/change/", changes.change, name="change"),
    path("statements/", statements.statements, name="statements"),
    path("statements/<str:number>/", statements.statement, name="statement"),
    path("statements/<str:number>/withdraw/", statements.withdraw, name="withdraw-statement"),
    path("statements/<str:number>/files/<str:name>", statements.statement_file, name="statement-file"),
    path("parts/", parts.parts, name="parts"),
    path("parts/<str:key>/", parts.part, name="part"),
    path("parts/<str:key>/mass/", part_mass.part_mass, name="part-mass"),
    path("sources/", sources.sources, name="sources"),
    path("sources/<str:key>/", sources.source, name="source"),
    path("places/", sources.places, name="places"),
    path("places/<str:key>/", sources.place, name="place"),
    path("people/", sources.people, name="people"),
    path("new/<str:table>/", records.new_record, name="new-record"),
    path("change/<str:table>/<str:key>/", records.edit_record, name="change-record"),
    path("strike-out/<str:table>/<str:key>/", records.strike_record, name="strike-record"),
    path("import/", imports.choose, name="import"),
    path("import/<str:sha256>/", imports.look, name="import-look"),
    path("export/register.xlsx", exports.workbook, name="export"),
    path("export/blank.xlsx", exports.blank, name="blank-workbook"),
    path("photographs/<str:sha256>/<str:size>.webp", exports.photograph, name="photograph"),
    path("sign-in/", accounts.SignIn.as_view(), name="sign-in"),
    path("sign-in/demo/", accounts.demo_sign_in, name="demo-sign-in"),
    path("sign-out/", accounts.SignOut.as_view(), name="sign-out"),
    path("password/", accounts.ChangePassword.as_view(), name="change-password"),
    path("password/changed/", accounts.PasswordChanged.as_view(), name="password-changed"),
    path(
        "choose-password/<str:uidb64>/<str:token>/", accounts.ChoosePassword.as_view(), name="choose-password"
    ),
    path("id/", public.public_list, name="public-vehicles"),
    path("id/vehicles/<str:key>/", public.public_vehicle, name="public-vehicle"),
    path("id/check/", checking.check, name="check"),
    path("id/statements/<str:number>/", checking.public_statement, name="public-statement"),
    path("admin/login/", login_not_required(RedirectView.as_view(pattern_name="sign-in", query_string=True))),
    path("admin/", admin.site.urls),
]
handler400 = "register.web.errors.bad_request"

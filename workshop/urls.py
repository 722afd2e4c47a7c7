"""All addresses of the site."""

from django.contrib.auth.decorators import login_not_required
from django.templatetags.static import static
from django.urls import include, path
from django.views.generic import RedirectView

# Browsers ask for this beside a PDF, which cannot name an icon of its own.
icon = login_not_required(RedirectView.as_view(url=static("img/mark.svg")))

urlpatterns = [
    path("", include("decaljobs.urls")),
    path("favicon.ico", icon, name="icon"),
]

handler500 = "decaljobs.views.outages.something_broke"

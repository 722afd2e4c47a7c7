"""All addresses of the site."""

from django.urls import include, path

urlpatterns = [path("", include("decaljobs.urls"))]

from django.apps import AppConfig


class DecaljobsConfig(AppConfig):
    name = "decaljobs"
    verbose_name = "Decal jobs"

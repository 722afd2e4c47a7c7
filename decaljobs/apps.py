from django.apps import AppConfig


class DecaljobsConfig(AppConfig):
    name = "decaljobs"
    verbose_name = "Decal jobs"

    def ready(self) -> None:
        from decaljobs.middleware import devices  # noqa: F401 (it listens for who signs in)

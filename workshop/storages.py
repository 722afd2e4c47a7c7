"""Where files are kept and by which addresses they are asked for."""

from functools import lru_cache

from django.contrib.staticfiles.storage import StaticFilesStorage


class StaticFiles(StaticFilesStorage):
    """Style sheets and scripts as they lie; each page names twenty, at addresses that stay."""

    @lru_cache(maxsize=512)  # noqa: B019 (there is one of it for as long as the process runs)
    def url(self, name: str) -> str:
        return super().url(name)

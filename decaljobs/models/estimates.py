"""What a project was expected to cost, kept as it stood when its work began."""

from django.db import models

from decaljobs.models.projects import Project


class KeptEstimate(models.Model):
    """The estimate of one project from before its first sheet was printed.

    lines: words, reckoning and amount of each, as text; missing: what had no price.
    """

    project = models.OneToOneField(
        Project, on_delete=models.CASCADE, related_name="kept_estimate", editable=False
    )
    made_at = models.DateTimeField()
    currency = models.CharField(max_length=3)
    total = models.DecimalField(max_digits=12, decimal_places=2)
    lines = models.JSONField(default=list)
    missing = models.JSONField(default=list)

    class Meta:
        ordering = ["made_at", "pk"]

    def __str__(self) -> str:
        return f"{self.total} {self.currency} for {self.project}"

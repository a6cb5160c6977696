"""Reading first-article sheets."""

from sqlmodel import Session, col, select

from server.errors import ShopError
from server.storage.tables.first_article import FirstArticle


def get_first_article(session: Session, sheet_id: int) -> FirstArticle:
    """A signed sheet.

    Raises: ShopError `not_found`.
    """
    found = session.get(FirstArticle, sheet_id)
    if found is None:
        raise ShopError("not_found", "There is no such sheet.", remedy="Open it from the run.")
    return found


def list_run_first_articles(session: Session, run_id: int) -> list[FirstArticle]:
    """A run's sheets, newest first."""
    query = select(FirstArticle).where(col(FirstArticle.run_id) == run_id)
    return list(session.exec(query.order_by(col(FirstArticle.id).desc())))


def list_job_first_articles(session: Session, job_number: str) -> list[FirstArticle]:
    """The sheets of all runs of a job, newest first."""
    query = select(FirstArticle).where(col(FirstArticle.job_number) == job_number)
    return list(session.exec(query.order_by(col(FirstArticle.id).desc())))

"""An attempt that fails leaves nothing of what it had begun."""

from server.actions.customer import CustomerValues, add_customer
from server.errors import ShopError
from server.storage.database import Database, Session
from server.storage.queries.customer import find_customer
from server.web.forms.form import Form


def _customer(name: str) -> CustomerValues:
    return CustomerValues(name, "", "", "", "", "USD", "", "")


def _half(session: Session) -> None:
    add_customer(session, "HALF", _customer("Half a customer"), by="ann")
    session.flush()
    raise ShopError("too_many", "There is one too many.", where="name")


def test_what_an_action_flushed_before_its_trouble_is_taken_back(shop: Database) -> None:
    form = Form({"name": "Half a customer"})
    with shop.writing() as session:
        form.attempt(lambda: _half(session), session)
        assert find_customer(session, "HALF") is None  # later reads in the block still work
    assert str(form.problems["name"].what) == "There is one too many."
    with shop.reading() as session:
        assert find_customer(session, "HALF") is None


def test_an_attempt_that_goes_well_is_kept(shop: Database) -> None:
    form = Form({})
    with shop.writing() as session:
        form.attempt(
            lambda: add_customer(session, "WHOLE", _customer("A customer"), by="ann"), session
        )
    with shop.reading() as session:
        assert find_customer(session, "WHOLE") is not None


def test_nothing_is_attempted_while_the_form_has_a_problem(shop: Database) -> None:
    form = Form({})
    form.trouble("name", "This is empty.", "Fill it in.")
    with shop.writing() as session:
        assert form.attempt(lambda: 1, session) is None

"""The class of the tests of field tests, for whoever sits one."""

from tests.web.teacher.conftest import built_class, room

__all__ = ["built_class", "room"]

"""The class of the tests of field tests, for whoever sits one."""

from tests.web.teacher.conftest import room

__all__ = ["room"]

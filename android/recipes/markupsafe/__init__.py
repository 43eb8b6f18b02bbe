"""MarkupSafe for python-for-android: Mako, and so Alembic, needs it; 32-bit phones have no wheel of it."""

from pythonforandroid.recipe import PyProjectRecipe


class MarkupSafeRecipe(PyProjectRecipe):
    """Builds the one small C file of MarkupSafe; where a wheel is offered, python-for-android takes that instead."""

    name = "markupsafe"
    version = "3.0.4"
    url = "https://github.com/pallets/markupsafe/archive/refs/tags/{version}.tar.gz"
    hostpython_prerequisites = ["setuptools>=77"]  # noqa: RUF012 - as every recipe of python-for-android names them


recipe = MarkupSafeRecipe()

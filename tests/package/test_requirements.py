"""Everything the app needs on a phone is in its package, can be built or had for it, and nothing of the tests is."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.package.spec import (
    ROOT,
    build_context,
    installed_requirements,
    is_pure,
    listed,
    packed_sources,
    pins,
    spec,
)

recipes = pytest.importorskip("pythonforandroid.recipe", reason="needs the test extra").Recipe

COMES_WITH_ANDROID = {"android", "jnius"}
"""Modules that the recipes android and pyjnius make."""
NOT_THE_RECIPES_OWN = {
    "sqlalchemy": "its recipe's 2.0.30 cannot be imported by Python 3.13 or newer",
}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


@pytest.fixture(scope="module")
def resolved(tmp_path_factory):
    """Return what python-for-android's graph makes of the requirements: recipes in order, modules, bootstrap."""
    from pythonforandroid.bootstrap import Bootstrap
    from pythonforandroid.graph import get_recipe_order_and_bootstrap

    context = build_context(tmp_path_factory.mktemp("p4a"))
    bootstrap = Bootstrap.get_bootstrap(spec()["p4a.bootstrap"], context)
    return get_recipe_order_and_bootstrap(context, list(pins()), bootstrap)


def installed_name(requirement: str) -> str:
    return canonicalize_name(requirement)


def test_every_requirement_names_its_version() -> None:
    assert [name for name, version in pins().items() if not version and name != "android"] == []


def test_python_for_android_finds_an_order_with_its_sdl2_bootstrap(resolved) -> None:
    order, _modules, bootstrap = resolved
    assert bootstrap.name == "sdl2"
    assert {"python3", "sqlite3", "kivy", "pyjnius", "android", "numpy", "pillow", "sqlalchemy"} <= {
        name.lower() for name in order
    }


def test_what_has_no_recipe_comes_as_a_pure_wheel_with_all_it_requires(resolved) -> None:
    order, modules, _bootstrap = resolved
    built = {installed_name(name) for name in order}
    # python-for-android installs these without what they require: each must be listed itself.
    listed_names = {installed_name(name) for name in pins()}
    assert {"alembic", "fpdf2", "icalendar", "babel", "holidays", "plyer"} <= {
        installed_name(n) for n in modules
    }
    for name in sorted(listed_names - built):
        assert is_pure(name), f"{name} comes as no pure wheel and has no recipe"
        assert metadata.version(name) == pins()[next(n for n in pins() if installed_name(n) == name)], name
    for name in sorted(listed_names - built | {"sqlalchemy", "markupsafe"}):
        missing = installed_requirements(name) - listed_names - built
        assert not missing, f"{name} requires {missing}"


def test_a_wheel_with_a_part_in_c_is_not_taken_for_pure() -> None:
    assert not is_pure("markupsafe")
    assert not is_pure("numpy")


def test_versions_of_recipes_are_their_own(resolved, tmp_path_factory) -> None:
    order, _modules, bootstrap = resolved
    for name, version in pins().items():
        if name.lower() in {built.lower() for built in order} and name not in NOT_THE_RECIPES_OWN:
            recipe = recipes.get_recipe(name, bootstrap.ctx)
            assert version == (recipe.version or ""), name


def test_a_version_is_looked_up_under_the_recipes_own_spelling(resolved, monkeypatch) -> None:
    order, modules, bootstrap = resolved
    for name in pins():
        if name.lower() in {built.lower() for built in order}:
            monkeypatch.setenv(f"VERSION_{name}", "9.9")
            recipe = recipes.get_recipe(name, bootstrap.ctx)
            assert recipe.version == "9.9" or recipe.url is None, name
        else:
            assert name in modules


def test_versions_fit_what_the_project_promises() -> None:
    pinned = {installed_name(name): version.removeprefix("v") for name, version in pins().items()}
    for line in PROJECT["dependencies"]:
        wanted = Requirement(line)
        assert wanted.specifier.contains(pinned[installed_name(wanted.name)]), line


def imported_modules(path: Path) -> set[str]:
    """Return the top names that a file imports at run time, wherever in it."""
    found: set[str] = set()

    def walk(node: ast.AST) -> None:
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            for child in node.orelse:
                walk(child)
            return
        if isinstance(node, ast.Import):
            found.update(alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            found.add(str(node.module).partition(".")[0])
        elif (
            isinstance(node, ast.Call)
            and ast.unparse(node.func).endswith("import_module")
            and isinstance(node.args[0], ast.Constant)
        ):
            found.add(str(node.args[0].value).partition(".")[0])
        for child in ast.iter_child_nodes(node):
            walk(child)

    walk(ast.parse(path.read_text(encoding="utf-8")))
    return found


def test_every_module_the_app_imports_is_in_the_package(resolved) -> None:
    sources = packed_sources()
    ours = {path.parts[0].removesuffix(".py") for path in sources if path.suffix == ".py"}
    wanted = {
        name: path
        for path in sources
        if path.suffix == ".py"
        for name in imported_modules(ROOT / path)
        if name not in sys.stdlib_module_names and name not in ours and name not in COMES_WITH_ANDROID
    }
    packed = {installed_name(name) for name in pins()}
    owners = metadata.packages_distributions()
    for name, path in wanted.items():
        distributions = {installed_name(owner) for owner in owners.get(name, ())}
        assert distributions & packed, f"{path} imports {name}, which is in no package"
    assert {"kivy", "numpy", "sqlalchemy", "alembic", "PIL", "fpdf", "icalendar", "babel", "holidays"} <= set(
        wanted
    )


def test_nothing_of_the_tests_is_in_the_package() -> None:
    only_tests = {installed_name(Requirement(line).name) for line in PROJECT["optional-dependencies"]["test"]}
    assert not only_tests & {installed_name(name) for name in pins()}
    sources = packed_sources()
    assert not [
        path for path in sources if path.parts[0] == "tests" or path.name.startswith(("test_", "conftest"))
    ]
    assert Path("main.py") in sources
    assert Path("assets/fonts/Lato-Regular.ttf") in sources
    assert Path("assets/fonts/OFL.txt") in sources
    assert any(path.suffix == ".mo" for path in sources)
    assert not [path for path in sources if path.parts[0] == "android"]


def test_target_and_minimum_are_what_python_for_android_supports() -> None:
    from pythonforandroid import recommendations

    assert int(spec()["android.api"]) == recommendations.RECOMMENDED_TARGET_API
    assert int(spec()["android.minapi"]) == 24 == int(spec()["android.ndk_api"])
    assert spec()["android.ndk"] == recommendations.RECOMMENDED_NDK_VERSION
    assert listed("android.archs") == ["arm64-v8a", "armeabi-v7a"]
    assert re.fullmatch(r"v(\d+)\.0?(\d+)\.0?(\d+)", spec()["p4a.branch"]).groups() == tuple(  # type: ignore[union-attr]
        metadata.version("python-for-android").split(".")
    )

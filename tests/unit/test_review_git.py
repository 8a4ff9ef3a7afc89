"""Reviews out of real git repositories: working tree, two commits, bare, shallow, hostile."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from asfound.cli import main
from asfound.review.git import GitProblem, Repository
from asfound.review.markdown import as_markdown
from asfound.review.run import review
from asfound.review.sides import FileChange, blob_id, sides
from asfound.review.text import as_text

ROOT = Path(__file__).parents[1] / "review"
RECIPE = "recipes/changes/soft-chime/recipe.yml"
WHO = {
    f"GIT_{role}_{what}": value
    for role in ("AUTHOR", "COMMITTER")
    for what, value in (
        ("NAME", "Plover"),
        ("EMAIL", "plover@circle.example"),
        ("DATE", "2025-09-01T12:00:00Z"),
    )
}


def git(folder: Path, *words: str, check: bool = True) -> str:
    done = subprocess.run(
        ["git", "-C", str(folder), *words], env=os.environ | WHO, capture_output=True, text=True, check=False
    )
    assert not check or done.returncode == 0, done.stderr
    return done.stdout.strip()


def commit(folder: Path, what: str) -> str:
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", what)
    return git(folder, "rev-parse", "HEAD")


def rewrite(folder: Path, path: str, old: str, new: str) -> None:
    text = (folder / path).read_text("utf-8")
    assert old in text
    (folder / path).write_text(text.replace(old, new), "utf-8")


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A repository with the base book on main and, on branch proposal, a softer value."""
    folder = tmp_path_factory.mktemp("template") / "club"
    shutil.copytree(ROOT / "base", folder)
    git(folder, "init", "-qb", "main")
    commit(folder, "The book")
    git(folder, "checkout", "-qb", "proposal")
    rewrite(folder, RECIPE, "to: soft", "to: silent")
    rewrite(folder, RECIPE, '"05 11"', '"04 11"')
    commit(folder, "Silence")
    git(folder, "checkout", "-q", "main")
    return folder


@pytest.fixture
def club(template: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "club"
    shutil.copytree(template, folder)
    return folder


def asfound(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["review", *map(str, words)])


def kinds(folder: Path, *words: str) -> set[str]:
    return {change.kind for change in review(folder, *words).changes}


def test_two_commits(club: Path) -> None:
    assert {"to-changed", "example-changed", "signature-void"} <= kinds(club, "main", "proposal")


def test_the_working_tree_says_the_same_as_its_commit(club: Path) -> None:
    git(club, "checkout", "-q", "proposal")
    one, other = review(club, "main", "proposal"), review(club, "main")
    assert one.changes == other.changes
    assert one.findings == other.findings
    assert other.head == "the working tree"


def test_files_not_yet_added_belong_to_the_working_tree(club: Path) -> None:
    copied = club / "recipes/changes/soft-chime/vetted/teal.yml"
    copied.write_text((copied.parent / "heron.yml").read_text().replace("by: heron", "by: teal"))
    (club / "now.py").write_text("print()\n")
    (club / ".gitignore").write_text("*.pyc\n")
    (club / "old.pyc").write_bytes(b"\0")
    found = review(club, "main")
    assert [(f.path, f.how) for f in found.owners] == [(".gitignore", "added"), ("now.py", "added")]
    signed = next(c for c in found.changes if c.kind == "signature-added")
    assert [fact.text for fact in signed.facts] == ["nothing yet: the file is not committed"]


def test_what_git_says_of_a_signature(club: Path) -> None:
    git(club, "checkout", "-qb", "signed")
    folder = club / "recipes/changes/soft-chime/vetted"
    for handle in ("teal", "plover"):
        (folder / f"{handle}.yml").write_text(
            (folder / "heron.yml").read_text().replace("by: heron", f"by: {handle}")
        )
    id = commit(club, "Sign")[:10]
    said = {
        change.says.split()[0]: change.facts[0].text
        for change in review(club, "main", "signed").changes
        if change.kind == "signature-added"
    }
    assert said == {
        "plover": f"commit {id} by Plover <plover@circle.example>; plover is named there",
        "teal": f"commit {id} by Plover <plover@circle.example>; "
        "teal is not named there, which proves nothing: ask them",
    }


def test_what_the_base_gained_meanwhile_is_no_change(club: Path) -> None:
    rewrite(club, "recipes/club.yml", "long_key_on: 60", "long_key_on: 50")
    commit(club, "Club")
    found = review(club, "main", "proposal")
    assert not found.owners
    assert "policy-changed" not in {change.kind for change in found.changes}
    assert found.base.endswith("where the other side left it")


def test_bare(club: Path, tmp_path: Path) -> None:
    bare = tmp_path / "bare.git"
    git(club, "clone", "-q", "--bare", str(club), str(bare))
    assert review(bare, "main", "proposal").changes == review(club, "main", "proposal").changes
    refused = asfound("main", "--repository", bare)
    assert refused.exit_code == 2
    assert refused.stderr == (
        "asfound review: this is a bare repository, without a working tree; name a second commit to compare\n"
    )


def test_shallow(club: Path, tmp_path: Path) -> None:
    shallow = tmp_path / "shallow"
    git(club, "clone", "-q", "--depth", "1", "--no-single-branch", f"file://{club}", str(shallow))
    found = review(shallow, "origin/main", "origin/proposal")
    assert found.changes == review(club, "main", "proposal").changes
    assert found.notes[0].startswith(
        "This clone does not hold the history that tells where origin/proposal left"
    )
    alone = tmp_path / "alone"
    git(club, "clone", "-q", "--depth", "1", "--branch", "proposal", f"file://{club}", str(alone))
    refused = asfound("origin/main", "--repository", alone)
    assert refused.exit_code == 2
    assert refused.stderr == (
        "asfound review: this clone has no commit origin/main; this clone is shallow, "
        "so fetch it by name, or everything with git fetch --unshallow\n"
    )


def test_a_clone_without_contents_says_so_and_fetches_nothing(club: Path, tmp_path: Path) -> None:
    git(club, "config", "uploadpack.allowFilter", "true")
    empty = tmp_path / "empty"
    git(club, "clone", "-q", "--filter=blob:none", "--bare", f"file://{club}", str(empty))
    refused = asfound("main", "proposal", "--repository", empty)
    assert refused.exit_code == 2
    assert "made without the contents of files" in refused.stderr


@pytest.mark.parametrize("base", ["nosuch", "--help-me", "main:recipes", "main^{tree}", "", "a b\x1b[31m"])
def test_a_base_that_is_none(club: Path, base: str) -> None:
    refused = asfound("--repository", club, "--", base)
    assert refused.exit_code == 2
    assert refused.stderr.count("\n") == 1
    assert "\x1b" not in refused.stderr


def test_no_repository(tmp_path: Path) -> None:
    refused = asfound("main", "--repository", tmp_path)
    assert refused.exit_code == 2
    assert refused.stderr.count("\n") == 1
    assert "is in no git repository" in refused.stderr


def test_the_book_is_found_or_named(club: Path) -> None:
    git(club, "mv", "recipes", "cars")
    commit(club, "Move")
    assert review(club, "HEAD", "HEAD").folder == "cars"
    shutil.copytree(club / "cars", club / "more/cars")
    commit(club, "A second book")
    refused = asfound("HEAD", "--repository", club)
    assert refused.exit_code == 2
    assert "there is one in cars, more/cars; name its folder" in refused.stderr
    assert asfound("HEAD", "--repository", club, "--book", "more/cars").exit_code == 0
    assert asfound("HEAD", "--repository", club, "--book", "nowhere").exit_code == 2


def test_a_book_that_no_commit_has_yet(tmp_path: Path) -> None:
    folder = tmp_path / "club"
    folder.mkdir()
    git(folder, "init", "-qb", "main")
    (folder / "README").write_text("Soon.\n")
    commit(folder, "Begin")
    shutil.copytree(ROOT / "base" / "recipes", folder / "recipes")
    found = review(folder, "main")
    assert [(f.state, f.finding.id) for f in found.findings] == [("fixed", "file-missing")]  # club.yml
    assert [change.subject.id for change in found.changes if change.kind == "recipe-added"] == sorted(
        path.parent.name for path in (folder / "recipes/changes").glob("*/recipe.yml")
    )
    assert [file.path for file in found.owners] == ["recipes/club.yml"]


def test_exit_status(club: Path) -> None:
    assert asfound("main", "main", "--repository", club).exit_code == 0
    assert asfound("main", "proposal", "--repository", club).exit_code == 1
    rewrite(club, RECIPE, "It wakes only one of two.", "It wakes only one of us.")
    prose = asfound("main", "--repository", club)
    assert (prose.exit_code, "only noted" in prose.stdout) == (0, True)


def test_nothing_of_the_reviewed_side_runs(club: Path) -> None:
    """Filters, textconv, hooks, a file-system monitor and an external diff, all set up to leave a trace."""
    trace = club.parent / "trace"
    script = club.parent / "run.sh"
    script.write_text(f"#!/bin/sh\necho ran >>{trace}\ncat\n")
    script.chmod(0o755)
    git(club, "checkout", "-qb", "hostile")
    (club / ".gitattributes").write_text("* filter=bad diff=bad\n")
    (club / ".mailmap").write_text("Heron <heron@circle.example> <plover@circle.example>\n")
    folder = club / "recipes/changes/soft-chime/vetted"
    (folder / "teal.yml").write_text((folder / "heron.yml").read_text().replace("by: heron", "by: teal"))
    rewrite(club, RECIPE, "to: soft", "to: silent")
    commit(club, "Attributes")
    for key in (
        "filter.bad.clean",
        "filter.bad.smudge",
        "filter.bad.process",
        "diff.bad.textconv",
        "diff.external",
    ):
        git(club, "config", key, str(script))
    for key in ("core.fsmonitor", "core.pager", "core.editor", "gpg.program"):
        git(club, "config", key, str(script))
    for name in ("post-checkout", "post-index-change", "reference-transaction", "fsmonitor-watchman"):
        shutil.copy(script, club / ".git/hooks" / name)
    (club / RECIPE).touch()
    trace.unlink(missing_ok=True)
    index = (club / ".git/index").read_bytes()
    for head in ("hostile", None):
        found = review(club, "main", head)
        hint = next(c for c in found.changes if c.kind == "signature-added").facts[0].text
        assert "by Plover <plover@circle.example>" in hint  # not as .mailmap of the reviewed side has it
    assert not trace.exists()
    assert (club / ".git/index").read_bytes() == index


def test_links_and_submodules_are_findings(club: Path) -> None:
    git(club, "checkout", "-qb", "links")
    (club / "recipes/modules/voice.yml").symlink_to("/etc/passwd")
    folder = club / "recipes/changes/soft-chime/reports"
    shutil.rmtree(folder)
    folder.symlink_to("../door-lamp-on/reports")
    git(club, "add", "-A")
    git(club, "update-index", "--add", "--cacheinfo", f"160000,{'1' * 40},recipes/changes/elsewhere")
    git(club, "commit", "-qm", "Links")
    found = review(club, "main", "links")
    new = {(f.finding.file, f.finding.id) for f in found.findings if f.state == "new"}
    assert new >= {
        ("modules/voice.yml", "file-link"),
        ("changes/soft-chime/reports", "file-link"),
        ("changes/elsewhere", "file-link"),
    }
    git(club, "rm", "-q", "--cached", "recipes/changes/elsewhere")
    here = review(club, "main")
    assert {(f.finding.file, f.finding.id) for f in here.findings} >= {
        ("modules/voice.yml", "file-link"),
        ("changes/soft-chime/reports", "file-link"),
    }
    assert "root:" not in as_text(found) + as_text(here)


def test_a_book_behind_a_link_is_not_read(club: Path) -> None:
    shutil.move(club / "recipes", club.parent / "outside")
    (club / "recipes").symlink_to(club.parent / "outside")
    refused = asfound("main", "--repository", club)
    assert refused.exit_code == 2
    assert "recipes is a link" in refused.stderr


def test_odd_names_and_sizes(club: Path) -> None:
    git(club, "checkout", "-qb", "odd")
    (club / "recipes/modules/big.yml").write_bytes(b"# " + b"x" * 300_000)
    (club / "recipes/modules/Cabin.yml").write_bytes(b"x")
    with open(os.fsencode(club) + b"/recipes/modules/\xff\n\x1b[31m.yml", "wb") as file:
        file.write(b"x")
    (club / "tab\there").write_bytes(b"x")
    (club / "recipes/changes/soft-chime/recipe.yml").write_bytes(b"\xff\xfe")
    commit(club, "Odd")
    for head in ("odd", None):
        found = review(club, "main", head)
        ids = {f.finding.id for f in found.findings if f.state == "new"}
        assert ids >= {"file-too-large", "file-twin-names", "file-bad-name", "file-not-utf-8"}
        said = as_text(found)
        assert "\x1b" not in said
        assert "tab\\there" in said
        assert said.encode()


def test_line_ends_of_a_checkout_are_no_change(club: Path) -> None:
    for path in (club / "recipes").rglob("*.yml"):
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert not review(club, "main").changes


def test_ids_are_those_of_git(club: Path, tmp_path: Path) -> None:
    """`git hash-object` is the reference."""
    raw = (club / RECIPE).read_bytes()
    assert blob_id(raw, "") == git(club, "hash-object", RECIPE)
    other = tmp_path / "other"
    subprocess.run(["git", "init", "-q", "--object-format=sha256", str(other)], check=True)
    (other / "file").write_bytes(raw)
    assert blob_id(raw, "0" * 64) == git(other, "hash-object", "file")


def test_differences_are_those_of_git(club: Path) -> None:
    """`git diff --name-status` is the reference."""
    git(club, "checkout", "-qb", "many")
    (club / "recipes/changes/soft-chime/reports/knot-2025-05.yml").unlink()
    (club / "mkdocs.yml").write_text("site_name: Other\n")
    (club / "new folder").mkdir()
    (club / "new folder/ü.txt").write_text("new")
    rewrite(club, RECIPE, "softer", "softest")
    commit(club, "Many")
    git(club, "mv", "mkdocs.yml", "mkdocs.yaml")
    (club / "untracked").write_text("x")
    git(club, "add", "-A", "-N")
    names = {"A": "added", "M": "changed", "D": "removed"}
    for head in ("many", None):
        arguments = ["main", head] if head else ["main"]
        told = git(club, "-c", "core.quotePath=false", "diff", "--no-renames", "--name-status", *arguments)
        expected = {FileChange(row.split("\t")[1], names[row[0]]) for row in told.splitlines()}  # type: ignore[arg-type]
        found = sides(Repository(club), "main", head, None)
        below = {FileChange(f"recipes/{change.path}", change.how) for change in found.within}
        assert below | set(found.outside) == expected


def test_a_repository_that_breaks_is_one_line(club: Path) -> None:
    for pack in (club / ".git/objects").iterdir():
        if len(pack.name) == 2:
            shutil.rmtree(pack)
    with pytest.raises(GitProblem) as problem:
        review(club, "main", "proposal")
    assert "\n" not in str(problem.value)


def test_only_the_base_says_where_the_site_is(club: Path) -> None:
    """A pull request could name any other, and the comment on it would lead there."""
    git(club, "checkout", "-q", "main")
    rewrite(club, "recipes/club.yml", "contact:", "site: https://ours.example/\ncontact:")
    commit(club, "A site")
    git(club, "checkout", "-qb", "elsewhere")
    rewrite(club, "recipes/club.yml", "ours.example", "theirs.example")
    rewrite(club, RECIPE, "title:", "titel:")
    commit(club, "Elsewhere")
    said = as_markdown(review(club, "main", "elsewhere"))
    assert "(https://ours.example/findings.html#unknown-key)" in said
    assert "(https://theirs.example" not in said

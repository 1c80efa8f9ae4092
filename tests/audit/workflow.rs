//! The workflows of a repository, as a host would run them: every script of every step as it stands, in a clone of a pull
//! request and of a push. What only the host has is stood in for: its actions do nothing, `cargo install` puts the program that
//! is tested in its place.

use super::repository::{begin, commit, git, lacks_git};
use super::work::write;
use crate::faults::scene::lacks;
use serde_json::Value;
use serde_yaml::Value as Yaml;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn file(path: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).expect(path)
}

fn workflow(name: &str) -> Yaml {
    serde_yaml::from_str(&file(&format!(".github/workflows/{name}.yaml"))).expect("YAML")
}

fn steps(all: &Yaml) -> Vec<&Yaml> {
    let jobs = all["jobs"].as_mapping().expect("jobs");
    jobs.values().flat_map(|job| job["steps"].as_sequence().expect("steps")).collect()
}

/// Only actions of the host itself, at a version; a checkout leaves no token behind.
fn assert_action(step: &Yaml) {
    let Some(action) = step["uses"].as_str() else { return };
    let (owner, version) = action.split_once('@').expect("a version");
    assert!(owner.starts_with("actions/"), "{action}: only actions of the host");
    assert!(version.starts_with('v') || version.len() == 40, "{action}: which version?");
    if owner == "actions/checkout" {
        assert_eq!(step["with"]["persist-credentials"], Yaml::Bool(false), "{action} leaves the token in the clone");
    }
}

/// A read-only token; no text of a pull request, nor of another step, becomes part of a script.
#[test]
fn the_workflow_can_only_read_and_no_foreign_text_becomes_a_script() {
    let all = workflow("records");
    assert_eq!(all["permissions"], serde_yaml::from_str::<Yaml>("{contents: read}").expect("YAML"), "the token can only read");
    assert!(all["jobs"].as_mapping().expect("jobs").values().all(|job| job["permissions"].is_null()));
    for step in steps(&all) {
        assert_action(step);
        let script = step["run"].as_str().unwrap_or_default();
        assert!(!script.contains("${{"), "text that the host puts into a script: {script}");
    }
}

/// A clone on a runner.
struct Runner {
    at: PathBuf,
    home: tempfile::TempDir,
    event: &'static str,
}

/// What came of a job.
#[derive(Debug, Default)]
struct Ran {
    /// The step that failed, and what it said.
    failed: Option<(String, String)>,
    /// Everything said on standard output.
    said: String,
    summary: String,
    /// What `cargo` was asked for.
    cargo: String,
}

const STAND_IN: &str = "#!/bin/sh\necho \"$@\" >> \"$HOME/cargo\"\nmkdir -p \"$HOME/.gripbook/bin\"\nln -sf \"$PROGRAM\" \"$HOME/.gripbook/bin/gripbook\"\n";

impl Runner {
    fn new(at: &Path, event: &'static str) -> Self {
        let home = tempfile::tempdir().expect("a folder");
        write(home.path(), "tools/cargo", STAND_IN);
        fs::create_dir_all(home.path().join("temp")).expect("a folder");
        let made = Command::new("chmod").arg("+x").arg(home.path().join("tools/cargo")).status().expect("chmod runs");
        assert!(made.success());
        Runner { at: at.to_owned(), home, event }
    }
    /// A file that a step left for the next one.
    fn left(&self, name: &str) -> String {
        fs::read_to_string(self.home.path().join("temp").join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }
    /// Whether a step runs: the conditions the workflows use, and no others.
    fn is_wanted(&self, step: &Yaml) -> bool {
        match step["if"].as_str() {
            None | Some("steps.cache.outputs.cache-hit != 'true'") => true,
            Some(condition) => {
                let event = condition.trim_start_matches("always() && ").strip_prefix("github.event_name == ");
                event.unwrap_or_else(|| panic!("a condition nobody has seen: {condition}")).trim_matches('\'') == self.event
            }
        }
    }
    /// Runs the steps of a job until one fails.
    fn run(&self, job: &Yaml, env: &Yaml) -> Ran {
        let temp = self.home.path().join("temp");
        let mut ran = Ran::default();
        let mut path = format!("{}:{}", self.home.path().join("tools").display(), std::env::var("PATH").unwrap_or_default());
        let mut outputs: BTreeMap<String, String> = BTreeMap::new();
        let mut kept: BTreeMap<String, String> = BTreeMap::new();
        for step in job["steps"].as_sequence().expect("steps") {
            let Some(script) = step["run"].as_str().filter(|_| self.is_wanted(step)) else { continue };
            let told = |value: &str| match value.trim().strip_prefix("${{").and_then(|v| v.strip_suffix("}}")).map(str::trim) {
                None => value.to_owned(),
                Some("github.base_ref") => "main".into(),
                Some(name) => {
                    let key = name.strip_prefix("steps.program.outputs.").unwrap_or_else(|| panic!("{name}: unknown here"));
                    outputs.get(key).cloned().unwrap_or_default()
                }
            };
            let own = [env, &step["env"]].into_iter().filter_map(Yaml::as_mapping).flatten();
            let own = own.map(|(k, v)| {
                (
                    k.as_str().expect("a name").to_owned(),
                    v.as_str().map_or_else(String::new, |v| {
                        v.split_once("${{")
                            .map_or_else(|| v.to_owned(), |(before, rest)| format!("{before}{}", told(&format!("${{{{{rest}"))))
                    }),
                )
            });
            let files = ["GITHUB_OUTPUT", "GITHUB_ENV", "GITHUB_PATH", "GITHUB_STEP_SUMMARY"];
            files.iter().for_each(|name| fs::write(temp.join(name), "").expect("a file"));
            let done = Command::new("bash")
                .args(["-e", "-c", script])
                .current_dir(&self.at)
                .env_clear()
                .envs(own)
                .envs(&kept)
                .envs(files.iter().map(|name| (name, temp.join(name))))
                .env("HOME", self.home.path())
                .env("RUNNER_TEMP", &temp)
                .env("PROGRAM", env!("CARGO_BIN_EXE_gripbook"))
                .env("GRIPBOOK_CACHE", self.home.path().join("cache"))
                .env("PATH", &path)
                .stdin(Stdio::null())
                .output()
                .expect("bash runs");
            let said = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
            let pairs = |name: &str| {
                self.left(name)
                    .lines()
                    .filter_map(|l| l.split_once('=').map(|(k, v)| (k.to_owned(), v.to_owned())))
                    .collect::<Vec<_>>()
            };
            ran.said += &said(&done.stdout);
            ran.summary += &self.left("GITHUB_STEP_SUMMARY");
            outputs.extend(pairs("GITHUB_OUTPUT"));
            kept.extend(pairs("GITHUB_ENV"));
            self.left("GITHUB_PATH").lines().for_each(|place| path = format!("{place}:{path}"));
            if !done.status.success() {
                let name = step["name"].as_str().unwrap_or(script).to_owned();
                ran.failed = Some((name, said(&done.stdout) + &said(&done.stderr)));
                break;
            }
        }
        ran.cargo = fs::read_to_string(self.home.path().join("cargo")).unwrap_or_default();
        ran
    }
}

const GREY: &str = "name: Grey filament\nfamily: pla\nproperties:\n  density:\n    - {value: 1.24 g/cm³, sd: 0.01 g/cm³, n: 5, sd_kind: n-1, source: own-2026-tests, locator: sheet 1, basis: measured}\n";

/// A repository of records: two packs, one of them in a folder with a space in its name, and one of a test.
fn records() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    write(at, "mine/pack.yaml", "id: mine\ntitle: Mine\nlicence: CC0-1.0\n");
    write(at, "mine/sources/own-2026-tests.yaml", "type: campaign\ntitle: Own tests\nissued: 2026-03\nby: bench\n");
    write(at, "mine/polymers/grey.yaml", GREY);
    write(at, "from far/pack.yaml", "id: far\ntitle: Far\nlicence: CC0-1.0\n");
    write(at, "from far/polymers/dull.yaml", "name: Dull\nfamily: pla\n");
    write(at, "tests/data/broken/pack.yaml", "id: broken\n");
    begin(at);
    git(at, &["update-ref", "refs/remotes/origin/main", "main"]);
    git(at, &["checkout", "-q", "-b", "mine"]);
    folder
}

#[test]
fn a_pull_request_of_records_is_checked_reviewed_and_annotated() {
    if lacks_git() {
        return;
    }
    let folder = records();
    let at = folder.path();
    let all = workflow("records");
    let job = |name: &str| all["jobs"][name].clone();
    write(at, "mine/polymers/grey.yaml", &GREY.replace("1.24 g/cm³", "1.27 g/cm³"));
    commit(at, "mine");
    let runner = Runner::new(at, "pull_request");
    let ran = runner.run(&job("records"), &all["env"]);
    assert_eq!(ran.failed, None, "{ran:?}");
    // No sources here: a given version is installed.
    assert!(ran.cargo.contains("install --locked --root ") && ran.cargo.trim_end().ends_with("gripbook@0.1.0"), "{}", ran.cargo);
    assert!(ran.summary.contains("polymer/grey:density") && ran.summary.contains("1.27 g/cm³"), "{}", ran.summary);
    assert_eq!(runner.left("review.md"), ran.summary, "what the comment takes");
    assert!(!ran.said.contains("::error"), "{}", ran.said);
    let program = Runner::new(at, "pull_request").run(&job("program"), &all["env"]);
    assert_eq!((program.failed, program.said.trim()), (None, "a repository of records only"));

    // A record that says nothing sensible stops the run at its line; both packs are looked at.
    write(at, "from far/polymers/dull.yaml", "name: Dull\nfamily: brass\n");
    commit(at, "wrong");
    let ran = Runner::new(at, "pull_request").run(&job("records"), &all["env"]);
    let (step, said) = ran.failed.expect("a faulty record stops the run");
    assert!(step.contains("say one thing"), "{step}");
    assert!(said.lines().any(|l| l.starts_with("::error ") && l.contains("file=from far/polymers/dull.yaml,line=2,")), "{said}");

    // What is well-formed and contradicts itself gets past check; the review stops it.
    write(at, "from far/polymers/dull.yaml", "name: Dull\nfamily: pla\n");
    let series = "name: Pulls\nsource: own-2026-tests\nlocator: sheet 4\nbasis: measured\njoint: {test: pull-out, method: cut-thread, material: polymer/grey, thread: M3, length: 6 mm, hole: 2.5 mm, boss: 9 mm}\ntest: {speed: 6 mm/min, temperature: 23 °C}\nmeasurements:\n  - quantity: pull_out_load\n    n: 3\n    mean: 900 N\n    specimens:\n      - {label: a, value: 1240 N, mode: part-thread-shear}\n      - {label: b, value: 1195 N, mode: part-thread-shear}\n      - {label: c, value: 1262 N, mode: part-thread-shear}\n";
    write(at, "mine/series/grey-m3.yaml", series);
    commit(at, "contradicts itself");
    let ran = Runner::new(at, "pull_request").run(&job("records"), &all["env"]);
    let (step, said) = ran.failed.expect("a contradiction stops the run");
    assert!(step.contains("what does it cause"), "{step}: {said}");
    assert!(said.contains("::error title=summary-not-reproduced,file=mine/series/grey-m3.yaml,line="), "{said}");
}

#[test]
fn a_push_leaves_both_sarif_files_and_the_program_is_built_where_its_sources_are() {
    if lacks_git() {
        return;
    }
    let folder = records();
    let at = folder.path();
    write(at, "Cargo.toml", "[package]\nname = \"gripbook\"\n");
    write(at, "Cargo.lock", "");
    write(at, ".ci/run", "#!/bin/sh\necho the tests ran\n");
    assert!(Command::new("chmod").arg("+x").arg(at.join(".ci/run")).status().expect("chmod runs").success());
    commit(at, "the program");
    let all = workflow("records");
    let runner = Runner::new(at, "push");
    let ran = runner.run(&all["jobs"]["records"], &all["env"]);
    assert_eq!(ran.failed, None, "{ran:?}");
    assert!(ran.cargo.trim_end().ends_with("--path ."), "{}", ran.cargo);
    for name in ["check.sarif", "audit.sarif"] {
        let sarif: Value = serde_json::from_str(&runner.left(name)).expect("JSON");
        assert_eq!(sarif["version"], "2.1.0", "{name}");
        assert!(sarif["runs"][0]["results"].is_array(), "{name}");
    }
    let program = Runner::new(at, "push").run(&all["jobs"]["program"], &all["env"]);
    assert_eq!((program.failed, program.said.trim()), (None, "the tests ran"));
}

/// Who may write comments runs nothing of the pull request.
#[test]
fn the_workflow_that_comments_runs_no_code_of_the_pull_request() {
    let all = workflow("review-comment");
    let may: Yaml = serde_yaml::from_str("{actions: read, pull-requests: write}").expect("YAML");
    assert_eq!(all["permissions"], may);
    for step in steps(&all) {
        assert_action(step);
        assert!(step["run"].is_null(), "a script: {step:?}");
        assert!(!step["uses"].as_str().unwrap_or_default().starts_with("actions/checkout"), "a checkout");
        assert!(!step["with"]["script"].as_str().unwrap_or_default().contains("${{"), "text of a pull request in a script");
    }
}

/// A host whose interface answers from lists, and tells which comment was written.
const HOST: &str = r#"
const fs = require('fs');
const [script, pulls, comments] = [process.argv[1], JSON.parse(process.argv[2]), JSON.parse(process.argv[3])];
const rest = {
  pulls: {list: async (q) => ({data: pulls.filter((p) => p.head.label === q.head && q.state === 'open')})},
  issues: {
    listComments: async () => ({data: comments}),
    updateComment: async (q) => console.log('updated ' + q.comment_id + '\n' + q.body),
    createComment: async (q) => console.log('created on ' + q.issue_number + '\n' + q.body),
  },
};
const github = {rest, paginate: async (call, q) => (await call(q)).data};
const run = {head_sha: 'abc', head_branch: 'mine', head_repository: {owner: {login: 'roe'}}};
const context = {repo: {owner: 'o', repo: 'r'}, payload: {workflow_run: run}};
const made = Object.getPrototypeOf(async function () {}).constructor;
new made('github', 'context', 'require', script)(github, context, require).catch((e) => { console.error(e); process.exit(1); });
"#;

#[test]
fn the_review_stands_once_under_its_pull_request_and_calls_nobody() {
    if lacks("node", &["node", "--version"]) {
        return;
    }
    let all = workflow("review-comment");
    let script = steps(&all).into_iter().find_map(|s| s["with"]["script"].as_str()).expect("a script").to_owned();
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "review.md", "# Review\n\nby @somebody\n");
    let run = |pulls: &str, comments: &str| {
        let out = Command::new("node")
            .current_dir(folder.path())
            .args(["-e", HOST, &script, pulls, comments])
            .output()
            .expect("node runs");
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8_lossy(&out.stdout).into_owned()
    };
    let pull = r#"[{"number": 7, "head": {"sha": "abc", "label": "roe:mine"}}]"#;
    let first = run(pull, "[]");
    assert!(first.starts_with("created on 7\n<!-- review -->\n# Review"), "{first}");
    assert!(!first.contains("@somebody"), "{first}");
    // Words of somebody else that begin alike are not replaced.
    let said = r#"[{"id": 3, "user": {"type": "User"}, "body": "<!-- review --> mine"}, {"id": 5, "user": {"type": "Bot"}, "body": "<!-- review -->\nold"}]"#;
    assert!(run(pull, said).starts_with("updated 5\n"));
    // A pull request that has moved on since, or none at all: nothing is written.
    assert_eq!(run(&pull.replace("abc", "def"), "[]"), "");
    assert_eq!(run("[]", "[]"), "");
}

"""The command that opens the desk in a browser."""

from pathlib import Path

import click

from formmaker.cli.frame import TARGET
from formmaker.files.job_file import read_job


@click.command()
@click.argument("job", type=TARGET, required=False)
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="A free one if not said.")
@click.option("--no-browser", is_flag=True, help="Print the address, open nothing.")
@click.option("--lan", is_flag=True, help="Let a tablet on the local network in too, with the key.")
def desk(job: Path | None, port: int, *, no_browser: bool, lan: bool) -> None:
    """Sketch, tilt, look and decide on a local page.

    Without JOB it begins with a scan, readings, a described shape or a sample, and writes into this folder.
    """
    if job is not None:
        read_job(job)
    from formmaker.desk.server import Kept, News, serve  # noqa: PLC0415  # late: it leads to libraries that take seconds

    def announce(news: News) -> None:
        if isinstance(news, Kept):
            click.echo(f"What was not saved is kept in {news.path}.", err=True)
            return
        click.echo(news.here)
        if news.lan:
            click.echo(f"For a tablet, type: {news.lan}", err=True)
            click.echo(
                "Everyone on this network who learns that address can see and change the job, and what is sent can "
                "be read on the way: use it on a network of your own.",
                err=True,
            )

    serve(
        job, Path.cwd() if job is None else job.parent, port=port, lan=lan, announce=announce, browse=not no_browser
    )

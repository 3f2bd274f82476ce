"""A turnaround, from the end of a bout to the arena queue, entered by a generated client.

    python turnaround.py ADDRESS LOGIN PASSWORD
"""

import datetime
import secrets
import sys
import time
from typing import TypeVar
from uuid import UUID

import httpx
import linkout_client.models as m
from linkout_client import AuthenticatedClient, Client
from linkout_client.api.events import create_event
from linkout_client.api.logbook import hand_in_lines, list_lines
from linkout_client.api.people import make_join_code
from linkout_client.api.register import (
    put_bottle,
    put_bout,
    put_channel,
    put_charger,
    put_pack,
    put_robot,
    put_set,
    put_team,
)
from linkout_client.api.robots import get_energy, get_forecast, list_hazards, list_tasks
from linkout_client.api.sessions import get_session, join_event, sign_in, sign_out
from linkout_client.api.stations import get_station, list_proofs
from linkout_client.types import UNSET, Response

T = TypeVar("T")
NEW = "*"
MINUTE = datetime.timedelta(minutes=1)
DAY = datetime.timedelta(days=1)
PATIENCE = httpx.Timeout(60)


def new_id() -> UUID:
    """A UUIDv7 (RFC 9562, section 5.7)."""
    milliseconds = time.time_ns() // 1_000_000
    value = milliseconds << 80 | 7 << 76 | secrets.randbits(12) << 64 | 2 << 62 | secrets.randbits(62)
    return UUID(int=value)


def now() -> datetime.datetime:
    return datetime.datetime.now(datetime.timezone.utc)


def done(answer: Response[m.ProblemDocument | T] | Response[T | m.ProblemDocument]) -> T:
    """What was asked for."""
    if answer.parsed is None or isinstance(answer.parsed, m.ProblemDocument):
        raise SystemExit(f"{answer.status_code}: {answer.content.decode()}")
    return answer.parsed


class Phone:
    """Somebody at the event."""

    def __init__(self, address: str, event: UUID, token: str) -> None:
        self.client = AuthenticatedClient(base_url=address, token=token, timeout=PATIENCE)
        self.event = event
        me = done(get_session.sync_detailed(client=self.client))
        self.person = me.person

    def say(self, *lines: "Line") -> None:
        """Hands in lines that belong together."""
        report = m.ReportForm(lines=list(lines), sent_at=now())
        answer = hand_in_lines.sync_detailed(self.event, client=self.client, body=report)
        receipts = done(answer).receipts
        assert [receipt.id for receipt in receipts] == [line.id for line in lines]
        assert all(receipt.is_new for receipt in receipts)


Line = (
    m.AnsweredLine
    | m.BottleLine
    | m.BoutEndedLine
    | m.BoutStartedLine
    | m.CalledLine
    | m.ChargeLine
    | m.GasLine
    | m.LinkLine
    | m.LinkPlanLine
    | m.LookedLine
    | m.PackLine
    | m.PlaceLine
    | m.ProofLine
    | m.StationLine
    | m.TaskLine
    | m.TransmitterLine
    | m.WeaponBarLine
)


class Turnaround:
    """One robot between two bouts."""

    def __init__(self, address: str, login: str, password: str) -> None:
        self.address = address
        body = m.SignInForm(login=login, password=password)
        token = done(sign_in.sync_detailed(client=Client(base_url=address), body=body)).token
        self.account = AuthenticatedClient(base_url=address, token=token, timeout=PATIENCE)
        today = now().date()
        founded = m.Event(
            name="Autumn Meet",
            time_zone="Europe/London",
            first_day=today,
            last_day=today + DAY,
        )
        self.event = done(create_event.sync_detailed(client=self.account, body=founded)).id
        self.team, self.other = new_id(), new_id()
        self.robot, self.opponent = new_id(), new_id()
        self.packs, self.set = [new_id(), new_id()], new_id()
        self.charger, self.channel, self.bottle = new_id(), new_id(), new_id()
        self.last_bout, self.next_bout = new_id(), new_id()
        self.about = f"robot:{self.robot}"
        for team, name in [(self.team, "Copper Kettle"), (self.other, "Slate Otter")]:
            answer = put_team.sync_detailed(
                self.event, team, client=self.account, body=m.Team(name=name), if_none_match=NEW
            )
            done(answer)

    def join(self, role: m.Role, name: str, team: UUID | None = None) -> Phone:
        """Lets somebody in."""
        code = done(
            make_join_code.sync_detailed(
                self.event, client=self.account, body=m.JoinCodeForm(role=role, team=team)
            )
        ).code
        body = m.JoinForm(code=code, name=name)
        joined = done(join_event.sync_detailed(client=Client(base_url=self.address), body=body))
        return Phone(self.address, self.event, joined.token)

    def register(self, lead: Phone) -> None:
        """Enters what the team has, and the bouts."""
        event, team, client = self.event, self.team, lead.client
        for robot, of, name, by in [
            (self.robot, team, "Pewter Finch", client),
            (self.opponent, self.other, "Slate Heron", self.account),
        ]:
            body = m.Robot(
                team=of, name=name, machine=m.Machine.FLIPPER_HEAVYWEIGHT, links=1, limit_g=110_000
            )
            done(put_robot.sync_detailed(event, robot, client=by, body=body, if_none_match=NEW))
        for label, pack in zip(("A1", "A2"), self.packs, strict=True):
            kept = m.Pack(
                team=team, label=label, chemistry=m.Chemistry.LIPO, cells=6, capacity_mah=5000
            )
            done(put_pack.sync_detailed(event, pack, client=client, body=kept, if_none_match=NEW))
        whole = m.Set(team=team, label="A", packs=self.packs, robot=self.robot)
        done(put_set.sync_detailed(event, self.set, client=client, body=whole, if_none_match=NEW))
        charger = m.Charger(team=team, label="green one", input_limit_w=800)
        done(
            put_charger.sync_detailed(
                event, self.charger, client=client, body=charger, if_none_match=NEW
            )
        )
        channel = m.Channel(
            team=team, label="left", charger=self.charger, max_current_ma=20_000, max_power_w=400
        )
        done(
            put_channel.sync_detailed(
                event, self.channel, client=client, body=channel, if_none_match=NEW
            )
        )
        bottle = m.Bottle(
            team=team,
            label="B1",
            gas=m.GasOf.CO2,
            volume_ml=1340,
            tare_g=2950,
            permitted_fill_g=890,
            tested_on=now().date() - 200 * DAY,
            test_due=now().date() + 1000 * DAY,
        )
        done(
            put_bottle.sync_detailed(
                event, self.bottle, client=client, body=bottle, if_none_match=NEW
            )
        )
        for number, bout, call in [
            (1, self.last_bout, now() - 50 * MINUTE),
            (2, self.next_bout, now() + 30 * MINUTE),
        ]:
            slots: list[m.SlotType0 | m.SlotType1 | m.SlotType2] = [
                m.SlotType0(robot=self.robot),
                m.SlotType0(robot=self.opponent),
            ]
            planned = m.Bout(number=number, call_at=call, slots=slots)
            answer = put_bout.sync_detailed(
                event, bout, client=self.account, body=planned, if_none_match=NEW
            )
            done(answer)
        # Read, changed and put back on the revision that was read: a second change on it is refused.
        stale = put_bottle.sync_detailed(
            event, self.bottle, client=client, body=bottle, if_match='"1"'
        )
        assert stale.status_code == 412, stale

    def plan(self, crew: Phone, second: Phone) -> None:
        """The link plan, written and read back by two people, each under their own name."""
        assert isinstance(crew.person, UUID) and isinstance(second.person, UUID)
        ana, ben = crew.person, second.person
        written = m.Plan(
            place="left flank, behind the hatch",
            links=1,
            retention="strap",
            holder=ana,
            inserter=ana,
            remover=ben,
            verifier=ben,
            reach_upright_s=20,
            reach_inverted_s=25,
            making_safe=["Weapon bar on", "Pull the link", "Shut the bottle and dump"],
            arming=["Bottle open", "Link in", "Weapon bar off"],
            dead_when="light dark, gauge zero",
            if_jammed="pull the packs' own lead",
            if_moving="stand off and tell the marshal",
        )
        crew.say(self.about_plan(m.LinkPlanType0(saved=written)))
        for phone, reader in [(crew, ana), (second, ben)]:
            read = m.ReadBack(version=1, read_by=[reader])
            phone.say(self.about_plan(m.LinkPlanType1(read_back=read)))

    def about_plan(self, body: m.LinkPlanType0 | m.LinkPlanType1) -> m.LinkPlanLine:
        return m.LinkPlanLine(
            id=new_id(),
            kind=m.LinkPlanLineKind.LINK_PLAN,
            how=m.LinkPlanLineHow.DID,
            at=now(),
            subject=self.about,
            body=body,
        )

    def fight(self, official: Phone) -> None:
        """The bout before: forty minutes ago."""
        began, ended = now() - 43 * MINUTE, now() - 40 * MINUTE
        bout = f"bout:{self.last_bout}"
        official.say(
            m.BoutStartedLine(
                id=new_id(),
                kind=m.BoutStartedLineKind.BOUT_STARTED,
                at=began,
                subject=bout,
                body=m.Started(),
            ),
            m.BoutEndedLine(
                id=new_id(),
                kind=m.BoutEndedLineKind.BOUT_ENDED,
                at=ended,
                subject=bout,
                body=m.Ended(ending=m.Ending.DECIDED, winner=self.robot),
            ),
        )

    def make_safe(self, crew: Phone, second: Phone) -> None:
        """Back from the arena: one does it, another looks."""
        assert self.verdict(crew) != m.VerdictView.MADE_SAFE
        at = now()
        crew.say(
            self.at_place(m.Place.ARENA_RECOVERY, at),
            m.WeaponBarLine(
                id=new_id(),
                kind=m.WeaponBarLineKind.WEAPON_BAR,
                how=m.WeaponBarLineHow.DID,
                at=at,
                subject=self.about,
                body=m.WeaponBar(state=m.Bar.ON),
            ),
            m.LinkLine(
                id=new_id(),
                kind=m.LinkLineKind.LINK,
                how=m.LinkLineHow.DID,
                at=at,
                subject=self.about,
                body=m.Link(
                    state=m.LinkState.OUT,
                    links=m.Links.ALL,
                    holder=m.HolderType1.BOX,
                    light=m.Light.DARK,
                ),
            ),
            m.GasLine(
                id=new_id(),
                kind=m.GasLineKind.GAS,
                how=m.GasLineHow.DID,
                at=at,
                subject=self.about,
                body=m.GasReport(valve=m.Valve.SHUT, system=m.System.ZERO),
            ),
            m.TransmitterLine(
                id=new_id(),
                kind=m.TransmitterLineKind.TRANSMITTER,
                how=m.TransmitterLineHow.DID,
                at=at,
                subject=self.about,
                body=m.Transmitter(state=m.Switch.OFF, boxed=True),
            ),
        )
        crew.say(self.at_place(m.Place.PIT_BENCH, now()))
        second.say(
            m.LookedLine(
                id=new_id(),
                kind=m.LookedLineKind.LOOKED,
                how=m.LookedLineHow.SAW,
                at=now(),
                subject=self.about,
                body=m.Looked(
                    link=m.LinkState.OUT,
                    holder=m.HolderType1.BOX,
                    valve=m.Valve.SHUT,
                    system=m.System.ZERO,
                    weapon_bar=m.Bar.ON,
                    transmitter=m.Switch.OFF,
                    power_light=m.Light.DARK,
                ),
            )
        )
        assert self.verdict(crew) == m.VerdictView.MADE_SAFE

    def packs_and_gas(self, crew: Phone) -> None:
        """The packs cool, are charged under watch and go back; the bottle is weighed and filled."""
        assert isinstance(crew.person, UUID)
        crew.say(
            self.pack(now() - 35 * MINUTE, m.ThingPlace.BENCH, looks=m.Looks.FINE),
            self.pack(now() - 24 * MINUTE, m.ThingPlace.CHARGING_TABLE, watcher=crew.person),
            self.charge(now() - 23 * MINUTE, m.ChargeState.STARTED, crew.person),
        )
        crew.say(
            self.weighed(now() - 20 * MINUTE, m.BottleState.WEIGHED, 3100),
            self.weighed(now() - 15 * MINUTE, m.BottleState.FILLED, 3810),
        )
        crew.say(
            self.charge(now() - 2 * MINUTE, m.ChargeState.ENDED, crew.person),
            self.pack(now() - MINUTE, m.ThingPlace.MACHINE, strapped=True, matched=True),
            m.BottleLine(
                id=new_id(),
                kind=m.BottleLineKind.BOTTLE,
                how=m.BottleLineHow.DID,
                at=now(),
                subject=self.about,
                body=m.BottleReport(
                    bottle=self.bottle,
                    place=m.ThingPlace.MACHINE,
                    strapped=True,
                    valve=m.Valve.SHUT,
                ),
            ),
        )

    def prove(self, crew: Phone, official: Phone) -> None:
        """Weighed, inspected and failsafe proved, each by an official at a station."""
        for station, what, result, mass_g in [
            (m.Station.SCALE, m.ProofOf.WEIGHT, m.Outcome.WITHIN, 109_400),
            (m.Station.INSPECTION, m.ProofOf.INSPECTION, m.Outcome.PASS, None),
            (m.Station.TEST_AREA, m.ProofOf.FAILSAFE, m.Outcome.PASS, None),
        ]:
            crew.say(self.at_station(station, m.Step.ASKED))
            queue = done(get_station.sync_detailed(self.event, station, client=official.client))
            assert [waiting.robot for waiting in queue.waiting] == [self.robot]
            official.say(
                self.at_station(station, m.Step.SERVING),
                m.ProofLine(
                    id=new_id(),
                    kind=m.ProofLineKind.PROOF,
                    how=m.ProofLineHow.SAW,
                    at=now(),
                    subject=self.about,
                    body=m.Proof(what=what, result=result, mass_g=mass_g),
                ),
                self.at_station(station, m.Step.SERVED),
            )
        proofs = done(list_proofs.sync_detailed(self.event, self.robot, client=crew.client)).proofs
        assert {proof.what for proof in proofs if proof.counts} == {
            m.ProofOf.WEIGHT,
            m.ProofOf.INSPECTION,
            m.ProofOf.FAILSAFE,
        }

    def work(self, crew: Phone) -> None:
        """Whatever is on the list, in its order, up to the arena queue."""
        while True:
            todo = done(list_tasks.sync_detailed(self.event, self.robot, client=crew.client))
            if todo.all_done:
                return
            ready = [task for task in todo.tasks if task.state in ("open", "running")]
            assert ready, [(task.task, task.state, task.waits_for) for task in todo.tasks]
            for task in ready:
                instance = task.instance
                at = now()
                crew.say(
                    *(
                        m.TaskLine(
                            id=new_id(),
                            kind=m.TaskLineKind.TASK,
                            how=m.TaskLineHow.DID,
                            at=at,
                            subject=self.about,
                            body=m.TaskReport(task=task.task, state=state, instance=instance),
                        )
                        for state in (m.TaskState.STARTED, m.TaskState.DONE)
                    )
                )

    def queue(self, crew: Phone, official: Phone) -> None:
        """Called, answered, and in the arena queue in time."""
        official.say(
            m.CalledLine(
                id=new_id(),
                kind=m.CalledLineKind.CALLED,
                at=now(),
                subject=f"bout:{self.next_bout}",
                body=m.Called(robot=self.robot),
            )
        )
        crew.say(
            m.AnsweredLine(
                id=new_id(),
                kind=m.AnsweredLineKind.ANSWERED,
                at=now(),
                subject=self.about,
                body=m.Answered(answer=m.CallAnswerType0.COMING, bout=self.next_bout),
            ),
            self.at_place(m.Place.QUEUE, now()),
        )
        forecast = done(get_forecast.sync_detailed(self.event, self.robot, client=crew.client))
        assert forecast.bout == self.next_bout
        assert forecast.forecast in (m.ForecastWord.READY, m.ForecastWord.ON_COURSE), forecast
        hazards = done(list_hazards.sync_detailed(self.event, self.robot, client=crew.client))
        assert hazards is not None

    def verdict(self, phone: Phone) -> m.VerdictView:
        """Whether hands may go in."""
        answer = get_energy.sync_detailed(self.event, self.robot, client=phone.client)
        return done(answer).verdict

    def read_back(self, phone: Phone) -> int:
        """Reads the whole logbook, page by page."""
        seen: list[int] = []
        after = None
        while True:
            page = done(
                list_lines.sync_detailed(
                    self.event, client=phone.client, limit=10, cursor=after or UNSET
                )
            )
            seen += [line.seq for line in page.items]
            after = page.next_cursor
            if after is None:
                assert len(seen) == len(set(seen))
                return len(seen)

    def at_place(self, place: m.Place, at: datetime.datetime) -> m.PlaceLine:
        return m.PlaceLine(
            id=new_id(),
            kind=m.PlaceLineKind.PLACE,
            how=m.PlaceLineHow.DID,
            at=at,
            subject=self.about,
            body=m.PlaceOf(place=place),
        )

    def at_station(self, station: m.Station, step: m.Step) -> m.StationLine:
        return m.StationLine(
            id=new_id(),
            kind=m.StationLineKind.STATION,
            at=now(),
            subject=self.about,
            body=m.StationReport(station=station, step=step),
        )

    def pack(
        self,
        at: datetime.datetime,
        place: m.ThingPlace,
        looks: m.Looks | None = None,
        watcher: UUID | None = None,
        strapped: bool | None = None,
        matched: bool | None = None,
    ) -> m.PackLine:
        return m.PackLine(
            id=new_id(),
            kind=m.PackLineKind.PACK,
            how=m.PackLineHow.DID,
            at=at,
            subject=self.about,
            body=m.PackReport(
                set_=self.set,
                place=place,
                looks=looks,
                watcher=watcher,
                strapped=strapped,
                matched=matched,
            ),
        )

    def charge(
        self, at: datetime.datetime, state: m.ChargeState, watcher: UUID
    ) -> m.ChargeLine:
        return m.ChargeLine(
            id=new_id(),
            kind=m.ChargeLineKind.CHARGE,
            how=m.ChargeLineHow.DID,
            at=at,
            subject=self.about,
            body=m.ChargeReport(
                set_=self.set, state=state, channels=[self.channel], watcher=watcher
            ),
        )

    def weighed(self, at: datetime.datetime, state: m.BottleState, mass_g: int) -> m.BottleLine:
        return m.BottleLine(
            id=new_id(),
            kind=m.BottleLineKind.BOTTLE,
            how=m.BottleLineHow.DID,
            at=at,
            subject=self.about,
            body=m.BottleReport(
                bottle=self.bottle, place=m.ThingPlace.GAS_STATION, state=state, mass_g=mass_g
            ),
        )


def main() -> None:
    address, login, password = sys.argv[1:]
    turnaround = Turnaround(address, login, password)
    lead = turnaround.join(m.Role.LEAD, "Lena", turnaround.team)
    ana = turnaround.join(m.Role.CREW, "Ana", turnaround.team)
    ben = turnaround.join(m.Role.CREW, "Ben", turnaround.team)
    official = turnaround.join(m.Role.OFFICIAL, "Max")
    turnaround.register(lead)
    turnaround.plan(ana, ben)
    turnaround.fight(official)
    turnaround.make_safe(ana, ben)
    turnaround.packs_and_gas(ana)
    turnaround.work(ana)
    turnaround.prove(ana, official)
    turnaround.queue(ana, official)
    lines = turnaround.read_back(lead)
    sign_out.sync_detailed(client=ana.client)
    out = get_session.sync_detailed(client=ana.client)
    assert out.status_code == 401, out
    print(f"a turnaround of {lines} lines by a generated client")


if __name__ == "__main__":
    main()

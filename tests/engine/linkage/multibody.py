"""The same linkages in a general-purpose multibody library (MuJoCo): another road to every position.

Bodies, hinges and loop closures are handed over as XML; its constraint Jacobian is used to project onto the closed
loops at every angle. Nothing is stepped in time and nothing is loaded: its constraints are soft under load.
"""

from dataclasses import dataclass

import mujoco
import numpy as np

METRE = 1000.0  # mm
LARGEST_STEP_RAD = 0.03
CLOSED_M = 1e-13
INERTIA = '<inertial pos="0 0 0" mass="1" diaginertia="0.1 0.1 0.1"/>'
AROUND = """<mujoco><compiler angle="radian"/><option gravity="0 0 0" jacobian="dense">
<flag contact="disable" limit="disable"/></option>
<worldbody>{bodies}</worldbody><equality>{closures}</equality></mujoco>"""


def written(vector, scale=1.0):
    return " ".join(repr(float(x) / scale) for x in vector)


def site(name, point):
    return f'<site name="{name}" pos="{written(point, METRE)}"/>'


def lifting_axis(front, rear, ball_joint):
    """Pivot axis about which a right-handed turn lifts the ball joint."""
    rises = np.cross(rear - front, ball_joint - front)[2] > 0.0
    return rear - front if rises else front - rear


def arm(name, front, axis, sites):
    """Every body is written in the vehicle's own axes at design, so its frame stays at the origin."""
    return (
        f'<body name="{name}"><joint name="{name}" type="hinge" pos="{written(front, METRE)}" axis="{written(axis)}"/>'
        f"{INERTIA}{sites}</body>"
    )


def tie_rod(points):
    return (
        f'<body name="tie_rod"><joint type="ball" pos="{written(points.rack_end, METRE)}"/>'
        f"{INERTIA}{site('outer_end', points.tie_rod_end)}</body>"
    )


def on_upright(points):
    return site("lower_ball_joint", points.lower_ball_joint) + site("tie_rod_end", points.tie_rod_end)


def closures(*pairs):
    return "".join(f'<connect site1="{one}" site2="{other}"/>' for one, other in pairs)


@dataclass
class Multibody:
    """A linkage that is driven by its lower arm."""

    model: mujoco.MjModel
    data: mujoco.MjData

    def drive(self, angle_rad):
        """Turn the lower arm there, in steps, each closed before the next."""
        driven = self.model.joint("lower_arm").qposadr[0]
        steps = max(1, int(np.ceil(abs(angle_rad - self.data.qpos[driven]) / LARGEST_STEP_RAD)))
        for angle in np.linspace(self.data.qpos[driven], angle_rad, steps + 1)[1:]:
            self.data.qpos[driven] = angle
            self.close()

    def close(self):
        """Gauss-Newton on all but the driven joint; the tie rod's spin is free, so the shortest step is taken."""
        free = np.delete(np.arange(self.model.nv), self.model.joint("lower_arm").dofadr[0])
        for _ in range(30):
            mujoco.mj_fwdPosition(self.model, self.data)
            if np.abs(self.data.efc_pos).max() < CLOSED_M:
                return
            jacobian = self.data.efc_J.reshape(self.data.nefc, self.model.nv)[:, free]
            step = np.zeros(self.model.nv)
            step[free] = -np.linalg.lstsq(jacobian, self.data.efc_pos, rcond=1e-10)[0]
            mujoco.mj_integratePos(self.model, self.data.qpos, step, 1.0)
        raise AssertionError(f"the loops stay open by {np.abs(self.data.efc_pos).max()} m")

    def point_mm(self, name):
        return METRE * self.data.site(name).xpos

    def rotation(self, body):
        return self.data.body(body).xmat.reshape(3, 3)

    def joint_rad(self, name):
        return self.data.joint(name).qpos[0]


def built(bodies, pairs):
    model = mujoco.MjModel.from_xml_string(AROUND.format(bodies=bodies, closures=closures(*pairs)))
    return Multibody(model, mujoco.MjData(model))


def wishbone(points):
    """Lower arm on a hinge, upper arm on a hinge, tie rod on a ball, upright free; three loops closed."""
    strut_on = {"lower_arm": "", "upper_arm": "", "upright": ""}
    strut_on[points.strut_bottom_on] = site("strut_bottom", points.strut_bottom)
    lower = points.lower_arm_front, points.lower_arm_rear, points.lower_ball_joint
    replaced = points.replaced_upper_ball_joint
    held = points.upper_ball_joint if replaced is None else replaced
    upper = points.upper_arm_front, points.upper_arm_rear, held
    sites = on_upright(points) + site("wheel_centre", points.wheel_centre)
    sites += site("upper_ball_joint", points.upper_ball_joint)
    bodies = (
        arm("lower_arm", lower[0], lifting_axis(*lower), site("lower_end", lower[2]) + strut_on["lower_arm"])
        + arm("upper_arm", upper[0], lifting_axis(*upper), site("upper_end", upper[2]) + strut_on["upper_arm"])
        + tie_rod(points)
        + f'<body name="upright"><freejoint/>{INERTIA}{sites}{strut_on["upright"]}</body>'
    )
    pairs = ("lower_ball_joint", "lower_end"), ("upper_ball_joint", "upper_end"), ("tie_rod_end", "outer_end")
    return built(bodies, pairs)


def macpherson(points):
    """Strut tube on a ball in the pivot, upright on a slide along the tube; two loops closed."""
    lower = points.lower_arm_front, points.lower_arm_rear, points.lower_ball_joint
    axis = points.strut_top - points.strut_bottom
    shift = np.zeros(3) if points.pivot_shift is None else points.pivot_shift
    sites = on_upright(points) + site("strut_bottom", points.strut_bottom) + site("wheel_centre", points.wheel_centre)
    bodies = (
        arm("lower_arm", lower[0], lifting_axis(*lower), site("lower_end", lower[2]))
        + tie_rod(points)
        + f'<body name="tube" pos="{written(shift, METRE)}">{INERTIA}'
        f'<joint type="ball" pos="{written(points.strut_top, METRE)}"/>'
        f'<body name="upright"><joint type="slide" axis="{written(axis)}"/>{INERTIA}{sites}</body></body>'
    )
    return built(bodies, (("lower_ball_joint", "lower_end"), ("tie_rod_end", "outer_end")))
